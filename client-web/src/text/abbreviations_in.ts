//! What counts as an abbreviation in a label: for the tests that demand a state for each. Pure.

/** Two to four capitals in a row, or letters with a lowered digit; longer ones are orders written large. */
export const abbreviationsIn = (text: string): string[] =>
  text.match(/(?<![\p{L}-])(?:\p{Lu}{2,4}|\p{L}{1,4}[₀-₉]|pH)(?![\p{L}₀-₉-])/gu) ?? [];
