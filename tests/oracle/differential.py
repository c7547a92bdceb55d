"""Replays random timelines beside `coxswain replay` and compares what the drugs and the defibrillator are asked: which prompts,
when, how much. The other planner (planner.py) was written from the protocol files and the design's text alone.

    python3 differential.py --seed 1 --count 300 --show 3

Not part of `make test` yet: about one timeline in 150 differs, in the lateness of an antiarrhythmic whose look was corrected or
whose shock lies before the arrest that runs; children and circumstances are not modelled.
"""
import argparse, collections, concurrent.futures, json, os, pathlib, subprocess, sys
import planner, timelines
HERE = pathlib.Path(__file__).resolve().parent
ROOT = HERE.parent.parent
ACTIONS = {"defibrillator": ["charge", "call_all_clear", "give_shock", "confirm_shock", "dump_charge"], "drugs": ["draw_up", "give_drug"]}
FIELDS = ["action", "show_at_ms", "due_at_ms", "late_at_ms", "assumed"]
DETAIL = ["drug", "dose", "volume", "give_at_ms", "too_early_until_ms", "prepared", "waits_for", "energy_j", "or"]
BIN = os.environ.get("COXSWAIN_BIN", str(ROOT / "target/debug/coxswain"))

def amount(x):
    return None if x is None else x["value"]
def plain(p):
    f = {k: p[k] for k in FIELDS}
    d = dict(p["detail"])
    for k in ("dose", "volume"):
        d[k] = amount(d.get(k))
    if d.get("or"):
        d["or"] = {"drug": d["or"]["drug"], "dose": amount(d["or"].get("dose")), "volume": amount(d["or"].get("volume"))}
    for k in DETAIL: f[k] = d.get(k)
    if f["action"] in ("confirm_shock","dump_charge"): f["energy_j"] = None
    return f
def engine(records, moments):
    args = [BIN, "replay", "-", "--json"]
    for m in moments: args += ["--at", str(m)]
    for r in ACTIONS: args += ["--role", r]
    done = subprocess.run(args, input="".join(json.dumps(r) + "\n" for r in records), capture_output=True, text=True)
    if done.returncode: raise RuntimeError(done.stderr)
    out = {}
    for line in done.stdout.splitlines():
        o = json.loads(line)
        out.setdefault(o["at_ms"], {})[o["role"]] = [plain(p) for p in o["prompts"] if p["action"] in ACTIONS[o["role"]]]
    return out
def oracle(records, protocols, m):
    found = planner.asked(records, protocols, m)
    return {r: [{**{k: None for k in FIELDS + DETAIL}, **p} for p in ps] for r, ps in found.items()}
def diffs(records, moments, protocols):
    theirs = engine(records, moments)
    out = []
    for m in moments:
        ours = oracle(records, protocols, m)
        for role in ACTIONS:
            a, b = theirs[m][role], ours[role]
            if a != b:
                sig = []
                if [(x["action"],x["drug"]) for x in a] != [(x["action"],x["drug"]) for x in b]:
                    sig = ["engine " + ",".join(f"{x['action']}:{x['drug'] or ''}{'?' if x['assumed'] else ''}" for x in a), "oracle " + ",".join(f"{x['action']}:{x['drug'] or ''}{'?' if x['assumed'] else ''}" for x in b)]
                else:
                    for x, y in zip(a, b):
                        sig += [x["action"] + "." + k for k in x if x[k] != y[k]]
                out.append((m, role, tuple(sig), a, b))
    return out
def load():
    return {p.stem: planner.Protocol(p.read_text()) for p in sorted((ROOT / "server/protocols").glob("*.toml"))}
def one(seed, protocols, names):
    records, ms = timelines.timeline(seed, names)
    return seed, diffs(records, ms, protocols)
def shrink(records, m, role, protocols, sig=None):
    def bad(rs):
        try: return any(d[1] == role and (sig is None or d[2]==sig) for d in diffs(rs, [m], protocols))
        except RuntimeError: return False
    rs = list(records); changed = True
    while changed:
        changed = False
        for i in range(len(rs) - 1, -1, -1):
            if rs[i]["event"]["kind"] == "code_opened": continue
            t = rs[:i] + rs[i+1:]
            if bad(t): rs = t; changed = True
    return rs
def tell(records, m, role, protocols):
    d = [x for x in diffs(records, [m], protocols) if x[1] == role][0]
    for r in sorted(records, key=lambda r: r["seq"]):
        late = "" if r["received_ms"] == r["at_ms"] else f" (heard {r['received_ms']/1000:g})"
        e = dict(r["event"]); k = e.pop("kind"); e.pop("training", 0)
        print(f"   #{r['seq']} {r['at_ms']/1000:g}{late} {k} {e}")
    print("   at", m / 1000, role)
    if len(d[3]) != len(d[4]) or [x['action'] for x in d[3]] != [x['action'] for x in d[4]]:
        for n, l in (("engine", d[3]), ("oracle", d[4])):
            for x in l: print("     ", n, {k: v for k, v in x.items() if v is not None})
            if not l: print("     ", n, "nothing")
    else:
        for x, y in zip(d[3], d[4]):
            print("     ", x["action"], x["drug"], {k: (x[k], y[k]) for k in x if x[k] != y[k]}, "(engine, oracle)")
if __name__ == "__main__":
    a = argparse.ArgumentParser(); a.add_argument("--seed", type=int, default=1); a.add_argument("--count", type=int, default=300); a.add_argument("--show", type=int, default=6); a.add_argument("--only",default="")
    a = a.parse_args()
    protocols = load(); names = ["aha-adult", "erc-adult"]
    classes = collections.defaultdict(list); asked = 0; bad=0
    with concurrent.futures.ThreadPoolExecutor(2) as pool:
        for seed, ds in pool.map(lambda s: one(s, protocols, names), range(a.seed, a.seed + a.count)):
            asked += 1; bad+=bool(ds)
            for m, role, sig, x, y in ds[:]: classes[sig].append((seed, m, role))
    print(asked, "timelines", bad, "bad", sum(map(len, classes.values())), "differences in", len(classes), "classes")
    ordered = sorted(classes.items(), key=lambda c: -len(c[1]))
    for sig, where in ordered[:40]: print(len(where), sig)
    for sig, where in [c for c in ordered if a.only in str(c[0])][: a.show]:
        best=None
        for seed, m, role in where[:4]:
            records, _ = timelines.timeline(seed, names)
            rs = shrink(records, m, role, protocols, sig)
            if best is None or len(rs)<len(best[0]): best=(rs,m,role,seed)
        print("==", sig, "seed", best[3]); tell(*best[:3], protocols)
