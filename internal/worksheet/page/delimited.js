// A delimited text file as rows of cells: how its letters are encoded, what stands between
// its cells, and where a quoted cell ends.

import { t } from './words.js';

/** The most that is read, in bytes and in lines. Ours: a day of a whole clinic is a tenth of it. */
const mostBytes = 2_000_000;
const mostLines = 20_000;

// separators that are told apart, the likeliest first where two fit equally: a comma may
// also stand in a number.
const separators = ['\t', ';', ','];

/**
 * rowsIn reads a file into rows of cells, each with the numbers of its first and last line
 * in the file, counted from 1. Empty lines are left out. A row that cannot be read has a
 * problem. It throws an Error with a sentence for the reader.
 * @param {Uint8Array} bytes
 * @returns {Array<{line: number, last: number, cells: string[], problem: (string|undefined)}>}
 */
export function rowsIn(bytes) {
  if (bytes.length > mostBytes) throw new Error(t('The file is too large: expected at most {size} MB.', { size: mostBytes / 1e6 }));
  const text = decode(bytes);
  if (/[\0-\x08\x0e-\x1f]/.test(text)) throw new Error(t('This is not a text file. Expected a table saved as text, with a comma, a semicolon or a tab between the columns.'));
  const rows = separators.map((separator) => split(text, separator)).reduce(better);
  if (rows.length > mostLines) throw new Error(t('The file has too many lines: expected at most {lines}.', { lines: mostLines }));
  if (columnsOf(rows) < 2) throw new Error(t('Found no columns. Expected a comma, a semicolon or a tab between them.'));
  return rows;
}

// decode reads UTF-8, or UTF-16 with its mark; what is neither is Latin-1, in the extent
// that browsers and spreadsheets give it (windows-1252).
//
// Source: WHATWG, Encoding Standard: the byte order mark, and the label latin1.
function decode(bytes) {
  const [first, second] = bytes;
  if (first === 0xff && second === 0xfe) return new TextDecoder('utf-16le').decode(bytes);
  if (first === 0xfe && second === 0xff) return new TextDecoder('utf-16be').decode(bytes);
  try {
    return new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  } catch {
    return new TextDecoder('windows-1252').decode(bytes);
  }
}

// columnsOf is how many cells the most rows have.
function columnsOf(rows) {
  const counts = new Map();
  for (const { cells } of rows) counts.set(cells.length, (counts.get(cells.length) ?? 0) + 1);
  return [...counts].reduce((most, next) => (next[1] > most[1] ? next : most), [0, 0])[0];
}

// better prefers the reading with more columns in more of its rows, and the former of equals.
const better = (a, b) => (fit(b) > fit(a) ? b : a);

function fit(rows) {
  const columns = columnsOf(rows);
  if (columns < 2) return 0;
  return columns * rows.filter(({ cells }) => cells.length === columns).length / rows.length;
}

/**
 * split takes a text apart as RFC 4180 does, with any separator and any end of line.
 * A quote within an unquoted cell is a letter like any other, as in 5".
 */
export function split(text, separator) {
  const rows = [];
  let row = { line: 1, last: 1, cells: [] };
  let line = 1;
  let i = 0;
  const endRow = () => {
    if (row.cells.some((cell) => cell !== '') || row.problem) rows.push(row);
    row = { line, last: line, cells: [] };
  };
  while (i < text.length) {
    const { cell, end, problem } = cellAt(text, i, separator);
    row.cells.push(cell.trim());
    row.problem ??= problem;
    line += text.slice(i, end).match(/\r\n|\r|\n/g)?.length ?? 0;
    row.last = line;
    i = end;
    if (text[i] === separator) {
      i++;
      if (i === text.length) row.cells.push('');
      continue;
    }
    i += text.startsWith('\r\n', i) ? 2 : 1;
    line++;
    endRow();
  }
  endRow();
  return rows;
}

// cellAt reads the cell that begins at a place, up to the separator or the end of the line.
function cellAt(text, from, separator) {
  const start = /[^\S\r\n\t]*/y;
  start.lastIndex = from;
  start.test(text);
  if (text[start.lastIndex] !== '"') {
    const end = endOfCell(text, from, separator);
    return { cell: text.slice(from, end), end };
  }
  const quote = /"((?:[^"]|"")*)"/y;
  quote.lastIndex = start.lastIndex;
  const found = quote.exec(text);
  if (!found) {
    const end = endOfCell(text, from, '');
    return { cell: text.slice(from, end), end, problem: t('a quotation mark is not closed') };
  }
  const end = endOfCell(text, quote.lastIndex, separator);
  const after = text.slice(quote.lastIndex, end).trim();
  return { cell: found[1].replaceAll('""', '"'), end, problem: after && t('letters after a closing quotation mark') || undefined };
}

function endOfCell(text, from, separator) {
  let end = from;
  while (end < text.length && text[end] !== separator && text[end] !== '\r' && text[end] !== '\n') end++;
  return end;
}
