// JSON in and out without touching a number: 1.00 stays 1.00, 1E-22 stays 1E-22. Everything else is a plain value of
// the language; the order of members is kept.

/** A number as it was written. */
export class Numeral {
  constructor(text) {
    this.text = text;
  }
}

export function parse(text) {
  const scanner = { text, at: 0 };
  const value = readValue(scanner);
  skipSpace(scanner);
  if (scanner.at !== text.length) throw new SyntaxError(`more text at ${scanner.at}`);
  return value;
}

export function write(value) {
  if (value instanceof Numeral) return value.text;
  if (Array.isArray(value)) return `[${value.map(write).join(',')}]`;
  if (value === null || typeof value !== 'object') return JSON.stringify(value);
  const members = Object.entries(value).map(([name, member]) => `${JSON.stringify(name)}:${write(member)}`);
  return `{${members.join(',')}}`;
}

export function copy(value) {
  if (Array.isArray(value)) return value.map(copy);
  if (!isObject(value)) return value;
  return Object.fromEntries(Object.entries(value).map(([name, member]) => [name, copy(member)]));
}

export function isObject(value) {
  return value !== null && typeof value === 'object' && !Array.isArray(value) && !(value instanceof Numeral);
}

const SPACE = /[ \t\r\n]*/y;
const STRING = /"(?:[^"\\]|\\.)*"/y;
const WORD = /true|false|null/y;
const NUMBER = /-?(?:0|[1-9][0-9]*)(?:\.[0-9]+)?(?:[eE][+-]?[0-9]+)?/y;

function readValue(scanner) {
  skipSpace(scanner);
  const first = scanner.text[scanner.at];
  if (first === '{') return readObject(scanner);
  if (first === '[') return readList(scanner);
  if (first === '"') return JSON.parse(take(scanner, STRING));
  if (first === 't' || first === 'f' || first === 'n') return JSON.parse(take(scanner, WORD));
  return new Numeral(take(scanner, NUMBER));
}

function readObject(scanner) {
  const object = {};
  scanner.at += 1;
  for (let first = true; !closes(scanner, '}', first); first = false) {
    skipSpace(scanner);
    const name = JSON.parse(take(scanner, STRING));
    expect(scanner, ':');
    object[name] = readValue(scanner);
  }
  return object;
}

function readList(scanner) {
  const list = [];
  scanner.at += 1;
  for (let first = true; !closes(scanner, ']', first); first = false) list.push(readValue(scanner));
  return list;
}

// True, with the bracket eaten, at the end; else eats the comma that must stand before every later item.
function closes(scanner, bracket, first) {
  skipSpace(scanner);
  if (scanner.text[scanner.at] === bracket) {
    scanner.at += 1;
    return true;
  }
  if (!first) expect(scanner, ',');
  return false;
}

function expect(scanner, sign) {
  skipSpace(scanner);
  if (scanner.text[scanner.at] !== sign) throw new SyntaxError(`no ${sign} at ${scanner.at}`);
  scanner.at += 1;
}

function take(scanner, pattern) {
  pattern.lastIndex = scanner.at;
  const match = pattern.exec(scanner.text);
  if (match === null) throw new SyntaxError(`unexpected text at ${scanner.at}`);
  scanner.at = pattern.lastIndex;
  return match[0];
}

function skipSpace(scanner) {
  take(scanner, SPACE);
}
