// How figures are shown: lengths in millimetres or inches, money, counts.

const INCH = 25.4;

/** The greatest fraction of an inch shown. */
const PARTS = 64;

const tidy = (value, digits) => value.toLocaleString("en", { maximumFractionDigits: digits, useGrouping: false });

/** A length of so many millimetres. */
export function length(mm, units, { unit = true } = {}) {
  if (units !== "in") return tidy(mm, 2) + (unit ? " mm" : "");
  const parts = Math.round((Math.abs(mm) / INCH) * PARTS);
  const whole = Math.floor(parts / PARTS);
  let [over, under] = [parts % PARTS, PARTS];
  while (over > 0 && over % 2 === 0) [over, under] = [over / 2, under / 2];
  const fraction = over ? `${over}/${under}` : "";
  const text = [whole || !fraction ? String(whole) : "", fraction].filter(Boolean).join(" ");
  return (mm < 0 ? "-" : "") + text + (unit ? " in" : "");
}

/** Whole minor units of money, two of whose digits are decimals. */
export function money(minor, currency) {
  const sign = minor < 0 ? "-" : "";
  const digits = String(Math.abs(minor)).padStart(3, "0");
  return `${sign}${digits.slice(0, -2)}.${digits.slice(-2)}${currency && currency !== "money" ? ` ${currency}` : ""}`;
}

/** "1 sheet", "3 sheets". */
export const count = (n, one, many = `${one}s`) => `${n} ${n === 1 ? one : many}`;

/** A share as a percentage. */
export const percent = (share) => `${tidy(share * 100, 1)} %`;

/** Grams, or kilograms from one up. */
export const mass = (grams) => (grams >= 1000 ? `${tidy(grams / 1000, 2)} kg` : `${tidy(grams, 0)} g`);

/** Square metres. */
export const area = (m2) => `${tidy(m2, 3)} m²`;

/** A plain number. */
export const number = (value, digits = 2) => tidy(value, digits);
