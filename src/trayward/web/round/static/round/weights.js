// Weights as they are typed, and whether one looks mistyped: the same rule as the desk's, with no signal too.

const GRAMS = { g: 1, kg: 1000, oz: 28.349523125, lb: 453.59237 };
const NEAR_SD = 3;
const FAR_SD = 4.5;
const NINETY_FIVE = 1.96;
const SLIPS = [0.1, 10, 0.01, 1000, 0.001, GRAMS.oz, 1 / GRAMS.oz, GRAMS.lb, 1 / GRAMS.lb];

// Grams of what was typed, a bare number in the unit shown; null where it is no weight.
export function grams(typed, unit) {
  const found = /^\s*(\d*[.,]?\d*)\s*(kg|g|oz|lb)?\s*$/i.exec(typed);
  if (!found || !/\d/.test(found[1])) return null;
  return Number(found[1].replace(",", ".")) * GRAMS[(found[2] ?? unit).toLowerCase()];
}

// The decimal mark of the page's language.
export const MARK = (1.5).toLocaleString(document.documentElement.lang).includes(",") ? "," : ".";

// A weight in a unit, with no more figures than a scale shows.
export function inUnit(weight, unit) {
  const value = weight / GRAMS[unit];
  return String(unit === "g" ? Math.round(value * 10) / 10 : Math.round(value * 100) / 100).replace(".", MARK);
}

// null where the weight may well be so; else what was perhaps meant, in grams.
export function doubted(weight, expected) {
  const likely = Number(expected.likely);
  if (!(likely > 0) || (expected.onlyAbove !== undefined && weight <= likely)) return null;
  const far = weight > 0 ? Math.abs(Math.log(weight / likely)) : Infinity;
  const sd = Number(weight > likely ? expected.above : expected.below);
  const least = Math.log(Number(expected.least));
  if (far <= Math.max(NEAR_SD * sd, least)) return null;
  const slip = SLIPS.find((factor) => fits(weight * factor, likely, expected));
  if (slip !== undefined) return { perhaps: weight * slip };
  return far > Math.max(FAR_SD * sd, least) ? { perhaps: null } : null;
}

function fits(weight, likely, expected) {
  if (weight <= 0) return false;
  const sd = Number(weight > likely ? expected.above : expected.below);
  return Math.abs(Math.log(weight / likely)) <= NINETY_FIVE * Math.max(sd, Math.log(1.1));
}
