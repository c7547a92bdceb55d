//! Which touches are meant: not water's, a palm's or a sleeve's, and not the second half of a double tap that falls on what the
//! first half brought up. It judges by what the platform tells of a contact, and takes what tells nothing (a mouse, most pens,
//! some tablets) for a finger.

/** A contact as the platform tells it, in CSS px; a platform that tells nothing says 0 or 1. */
export interface Contact {
  width_px: number;
  height_px: number;
  /** How many other contacts lay on the glass when it came. */
  others: number;
}

/**
 * A gloved finger lies on some 20 mm, about 105 CSS px of a 10-inch tablet (132 CSS px an inch); a palm or a film of water on
 * more. Common practice, no source; ours.
 */
const WIDEST_FINGER_PX = 120;
/** Two hands may be on a tablet at once; four contacts are rain. Ours. */
const MOST_OTHERS = 2;

/** Whether a contact is taken for no finger's. */
export function ghost(contact: Contact): boolean {
  return Math.max(contact.width_px, contact.height_px) > WIDEST_FINGER_PX || contact.others > MOST_OTHERS;
}

/** A click, as far as it matters to the next one. */
export interface Click {
  at_ms: number;
  x_px: number;
  y_px: number;
  /** What was clicked. */
  target: unknown;
}

/** The second half of a double tap comes within so long, and falls as near as this to the first. Ours. */
const DOUBLE_MS = 350;
const NEAR_PX = 48;

/** Whether a click is the rest of a double tap whose first half took its button away: it was meant for that one. */
export function meantForAnother(click: Click, last: Click | null): boolean {
  if (!last || click.target === last.target || click.at_ms - last.at_ms >= DOUBLE_MS) return false;
  return Math.hypot(click.x_px - last.x_px, click.y_px - last.y_px) < NEAR_PX;
}
