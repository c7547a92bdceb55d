// Goes on to the real address as soon as this browser trusts the server. The part behind # is never sent over the wire.
const address = new URL(location.href);
address.protocol = "https:";
address.searchParams.delete("lang");
const real = address.href;
// A change of language keeps what stands there.
for (const link of document.querySelectorAll("nav a")) link.hash = location.hash;

async function goOnIfTrusted() {
  try {
    await fetch(`https://${location.host}/healthz`, { mode: "no-cors", cache: "no-store" });
    location.replace(real);
  } catch {
    document.documentElement.dataset.trusted = "no";
  }
}

const platforms = [
  ["ipad", /iPad|iPhone/],
  ["android", /Android/],
  ["mac", /Macintosh/],
  ["windows", /Windows/],
  ["linux", /./],
];
// A tablet of that maker may call itself a Macintosh; only it has a touch screen.
const touchMac = /Macintosh/.test(navigator.userAgent) && navigator.maxTouchPoints > 1;
const mine = touchMac ? "ipad" : platforms.find(([, pattern]) => pattern.test(navigator.userAgent))[0];
document.getElementById(mine).open = true;

document.getElementById("on").addEventListener("click", () => location.assign(real));
document.addEventListener("visibilitychange", () => document.hidden || goOnIfTrusted());
setInterval(() => document.hidden || goOnIfTrusted(), 3000);
goOnIfTrusted();
