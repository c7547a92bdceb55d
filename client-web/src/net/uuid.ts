//! Makes uuid v7 ids for taps. It needs only crypto.getRandomValues, which browsers give without TLS too;
//! it must not use crypto.randomUUID, which they do not.

/** Fills an array with random bytes. */
export type Random = (bytes: Uint8Array<ArrayBuffer>) => void;

const fill: Random = (bytes) => void crypto.getRandomValues(bytes);

/** Makes ids that sort in the order in which they were made on this device (RFC 9562 section 5.7, 6.2 method 1). */
export function uuidMaker(wallMs: () => number = Date.now, random: Random = fill): () => string {
  let last_ms = -1;
  let count = 0;
  return () => {
    const bytes = new Uint8Array(new ArrayBuffer(16));
    random(bytes);
    let now_ms = Math.max(0, Math.floor(wallMs()));
    if (now_ms <= last_ms) {
      // A wall clock that stands still or goes back must not break the order: stay, and count up.
      now_ms = last_ms;
      count += 1;
      if (count > 0xfff) {
        now_ms += 1;
        count = 0;
      }
    } else {
      // Start in the lower half so that there is room to count.
      count = (((bytes[6] ?? 0) << 8) | (bytes[7] ?? 0)) & 0x7ff;
    }
    last_ms = now_ms;
    let rest = now_ms;
    for (let index = 5; index >= 0; index -= 1) {
      bytes[index] = rest % 256;
      rest = Math.floor(rest / 256);
    }
    bytes[6] = 0x70 | (count >> 8);
    bytes[7] = count & 0xff;
    bytes[8] = 0x80 | ((bytes[8] ?? 0) & 0x3f);
    const hex = Array.from(bytes, (byte) => byte.toString(16).padStart(2, '0')).join('');
    return `${hex.slice(0, 8)}-${hex.slice(8, 12)}-${hex.slice(12, 16)}-${hex.slice(16, 20)}-${hex.slice(20)}`;
  };
}

/** The maker of this page. */
export const newId = uuidMaker();
