// JSON with decimals that keep their digits: in a measurement 21.50 is not 21.5.

/** A decimal number as it was written. */
export class Decimal {
  constructor(text) {
    this.text = text;
  }
}

/**
 * parse reads JSON. Numbers keep their digits where the browser can tell them.
 * It throws a SyntaxError on anything else.
 */
export function parse(text) {
  return JSON.parse(text, (key, value, context) =>
    typeof value === 'number' && context?.source ? new Decimal(context.source) : value);
}

/** write writes a value as JSON, leaving out what is undefined. */
export function write(value) {
  if (value instanceof Decimal) return value.text;
  if (Array.isArray(value)) return `[${value.map(write).join(',')}]`;
  if (value === null || typeof value !== 'object') return JSON.stringify(value);
  const members = Object.entries(value)
    .filter(([, member]) => member !== undefined)
    .map(([name, member]) => `${JSON.stringify(name)}:${write(member)}`);
  return `{${members.join(',')}}`;
}

/** readNumber reads what a person typed into a number, or gives null. */
export function readNumber(typed) {
  const text = typed.trim().replace(',', '.');
  const match = /^(-?)0*(\d+(?:\.\d+)?)$/.exec(text);
  return match ? new Decimal(match[1] + match[2]) : null;
}
