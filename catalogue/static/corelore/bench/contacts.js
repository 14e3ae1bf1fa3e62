// Contacts, rows and readings as people write them. Nothing here touches the page, the store or the network; what
// cannot be read is thrown as an Error whose message says what to do.

const MOST_ROWS = 64;
const MOST_IN_A_ROW = 200;
const LONGEST_CONTACT = 12;

/** Rows from `12 10` (how many in each) or `A1 A2 / B1 _ B3` (their names); a free seat is an empty name. */
export function rowsFrom(text) {
  const words = wordsIn(text);
  return areCounts(words) && !/[/\n]/.test(text.trim()) ? counted(words.map(Number)) : namedRows(text);
}

/** Rows from `A1 A2 / B1 _ B3`. */
export function namedRows(text) {
  const lines = text.split(/[/\n]/).map(wordsIn).filter((line) => line.length);
  if (!lines.flat().some((word) => word !== "_")) throw new Error("Write the rows, such as 12 12.");
  areFew(lines.map((line) => line.length));
  return named(lines);
}

function wordsIn(text) {
  return text.match(/[^\s,]+/g) ?? [];
}

function areFew(lengths) {
  if (lengths.length > MOST_ROWS || Math.max(...lengths) > MOST_IN_A_ROW) {
    throw new Error(`At most ${MOST_ROWS} rows of ${MOST_IN_A_ROW} contacts fit.`);
  }
}

// `1 2 3` is a row of three names, since no connector grows like that.
function areCounts(words) {
  const areNumbers = words.every((word) => /^[1-9][0-9]{0,3}$/.test(word));
  return words.length && areNumbers && !(words.length > 1 && words.every((word, index) => Number(word) === index + 1));
}

function counted(lengths) {
  areFew(lengths);
  let last = 0;
  return lengths.map((length) => Array.from({ length }, () => String((last += 1))));
}

function named(lines) {
  const seen = new Set();
  return lines.map((line) => line.map((word) => {
    if (word === "_") return "";
    if (/[:@]/.test(word)) throw new Error(`Use no colon and no @ in a contact: ${word}`);
    if (word.length > LONGEST_CONTACT) throw new Error(`At most ${LONGEST_CONTACT} characters name a contact: ${word}`);
    if (seen.has(word)) throw new Error(`Name each contact once: ${word}`);
    seen.add(word);
    return word;
  }));
}

/** The contacts of faces, a Map from the name of an end to its rows, as `END:contact`, each with its seat. */
export function seatsOf(faces) {
  const seats = new Map();
  for (const [end, rows] of faces) {
    rows.forEach((row, rowNumber) => row.forEach((contact, column) => {
      if (contact) seats.set(`${end}:${contact}`, { end, rowNumber, column });
    }));
  }
  return seats;
}

/** All contacts from one to another of the same row, as a probe is dragged along them. */
export function runBetween(faces, seats, first, last) {
  const [from, to] = [seats.get(first), seats.get(last)];
  if (from.end !== to.end || from.rowNumber !== to.rowNumber) {
    throw new Error(`${first} and ${last} are not in one row. A sweep runs along one row.`);
  }
  const row = faces.get(from.end)[from.rowNumber];
  const [low, high] = [Math.min(from.column, to.column), Math.max(from.column, to.column)];
  const run = row.slice(low, high + 1);
  if (run.includes("")) throw new Error("There is a free seat between them, where the probe would lose the row.");
  const points = run.map((contact) => `${from.end}:${contact}`);
  return from.column <= to.column ? points : points.reverse();
}

/** `HEAD:3 USB:1`, or `HEAD:3 USB:1..4` along a row, and what the meter did where it stands behind. */
export function lineFrom(text, faces, seats) {
  const [red, black, ...rest] = text.trim().split(/\s+/);
  if (!red || !black) throw new Error("Write both contacts, such as " + [...seats.keys()].slice(0, 2).join(" "));
  const result = rest.length ? resultFrom(rest.join(" ")) : null;
  const [first, last] = black.split("..");
  const start = contactFrom(first, seats);
  const source = contactFrom(red, seats);
  if (last === undefined) return { red: source, black: [start], isSweep: false, result };
  const finish = contactFrom(last.includes(":") ? last : `${seats.get(start).end}:${last}`, seats);
  return { red: source, black: runBetween(faces, seats, start, finish), isSweep: true, result };
}

/** Of `r17 0.6` the reading to measure again and what the meter did, which may be missing. */
export function againFrom(text) {
  const [word, ...rest] = text.trim().split(/\s+/);
  return [word.toLowerCase(), rest.join(" ")];
}

function contactFrom(word, seats) {
  if (seats.has(word)) return word;
  const alike = [...seats.keys()].filter((contact) => contact.toLowerCase() === word.toLowerCase());
  if (alike.length === 1) return alike[0];
  throw new Error(`There is no contact ${word}. Contacts are written like ${seats.keys().next().value}.`);
}

const FACTORS = { "": 0, k: 3, K: 3, M: 6 };

/** What the meter did, as fields of a reading: `b`, `n`, `0.6`, `5.1k`, `OL`, `OL 2k` (over limit on that range),
 * `0.55 V`, `120 pF`, `3.3 nF`. */
export function resultFrom(text) {
  const word = text.trim();
  if (/^(b|beeps?|yes)$/i.test(word)) return { mode: "beep", beeps: true };
  if (/^(n|no|silent)$/i.test(word)) return { mode: "beep", beeps: false };
  const over = /^o\.?l\.?(?:\s+(.+))?$/i.exec(word);
  if (over) return { mode: "ohms", over: true, ...(over[1] ? { range_ohms: ohmsFrom(over[1]) } : {}) };
  const farads = /^([0-9.,]+)\s*(p|n)F$/i.exec(word);
  if (farads) return { mode: "farads", farads: shifted(farads[1], farads[2].toLowerCase() === "p" ? -12 : -9) };
  const volts = /^(-?[0-9.,]+)\s*V$/i.exec(word);
  if (volts) return { mode: "diode", volts: shifted(volts[1], 0) };
  return { mode: "ohms", ohms: ohmsFrom(word) };
}

function ohmsFrom(text) {
  const found = /^([0-9.,]+)\s*([kKM]?)\s*(?:ohms?|Ω|Ω)?$/.exec(text.trim());
  if (!found) throw new Error(`${text} is not a value. Write 0.6, 5.1k, 2M, OL, 0.55 V or 120 pF.`);
  return shifted(found[1], FACTORS[found[2]]);
}

// Through the exponent of the text, because 0.1 × 1000 is not 100 in binary.
function shifted(digits, tenfolds) {
  const plain = digits.replace(",", ".");
  if (!/^-?([0-9]+(\.[0-9]*)?|\.[0-9]+)$/.test(plain)) throw new Error(`${digits} is not a number. Write it like 0.6.`);
  return Number(`${plain}e${tenfolds}`);
}

/** All points of a reading: the red one first. */
export function pointsOf(reading) {
  return [reading.red, ...[reading.black].flat()];
}

/** Where the probes were, in words. */
export function placeOf({ red, black }) {
  const points = [black].flat();
  return points.length > 1 ? `${red} along ${points[0]} to ${points.at(-1)}` : `${red} with ${points[0]}`;
}

/** What the meter did, in words. */
export function doneBy(reading) {
  if ("beeps" in reading) return reading.beeps ? "beeps" : "no beep";
  if (reading.over) return "over limit (OL)";
  if (reading.mode === "diode") return `${reading.volts} V`;
  if (reading.mode === "farads") return `${Number((reading.farads * 1e12).toPrecision(6))} pF`;
  return ohmsShown(reading.ohms);
}

function ohmsShown(ohms) {
  const [factor, unit] = ohms >= 1e6 ? [1e6, "MΩ"] : ohms >= 1e3 ? [1e3, "kΩ"] : [1, "Ω"];
  return `${Number((ohms / factor).toPrecision(9))} ${unit}`;
}

/** `at most 0.51 Ω`: a bound with two figures, rounded outwards, as the site tells it. */
export function boundShown(limit, ohms) {
  const [digits, tenfolds] = ohms.toExponential(8).split("e");
  const round = limit === "at most" ? Math.ceil : Math.floor;
  return `${limit} ${ohmsShown(Number(`${round(Number(`${digits}e1`))}e${tenfolds - 1}`))}`;
}
