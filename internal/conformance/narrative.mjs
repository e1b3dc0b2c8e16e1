// What FHIR R4 allows in a narrative: the XHTML subset of Narrative.div.

const TAGS = new Set(`a abbr acronym address b big blockquote br caption cite code col colgroup dd dfn div dl dt em
  h1 h2 h3 h4 h5 h6 hr i img li ol p pre q samp small span strong sub sup table tbody td tfoot th thead tr tt ul var`.split(/\s+/));
const ATTRIBUTES = new Set(`abbr accesskey align alt axis border cellhalign cellpadding cellspacing cellvalign char charoff
  charset cite class colspan compact coords dir frame headers height href hreflang hspace id lang longdesc name nowrap rel
  rev rowspan rules scope shape span src start style summary tabindex title type valign value vspace width xml:lang xmlns`.split(/\s+/));
const TAG = /<(\/?)([A-Za-z][\w:-]*)((?:\s+[\w:-]+\s*=\s*(?:"[^"<]*"|'[^'<]*'))*)\s*(\/?)>/g;
const ATTRIBUTE = /([\w:-]+)\s*=\s*(?:"([^"]*)"|'([^']*)')/g;
const ENTITY = /^(amp|lt|gt|quot|apos|#\d+|#x[0-9a-fA-F]+)$/;

// narrativeFaults lists what is wrong with a div.
export function narrativeFaults(div) {
  const faults = new Set(), open = [];
  let content = false, end = 0;
  const text = s => {
    if (/\S/.test(s.replace(/&#160;/g, ' '))) content = true;
    if (/[<>]/.test(s)) faults.add('stray angle bracket');
    for (const [, name] of s.matchAll(/&([^;\s]*);?/g)) if (!ENTITY.test(name)) faults.add(`entity &${name};`);
  };
  for (const match of div.matchAll(TAG)) {
    const [whole, closes, name, attributes, empty] = match;
    text(div.slice(end, match.index));
    end = match.index + whole.length;
    if (!TAGS.has(name)) faults.add(`element <${name}>`);
    if (closes) {
      if (open.pop() !== name) faults.add(`</${name}> closes nothing`);
      continue;
    }
    if (!open.length) rootFaults(match, faults);
    attributeFaults(attributes, faults);
    if (name === 'img') content = true;
    if (!empty) open.push(name);
  }
  text(div.slice(end));
  if (open.length) faults.add(`unclosed <${open.at(-1)}>`);
  if (!content) faults.add('no content (txt-2)');
  return [...faults];
}

function rootFaults({ index, 2: name, 3: attributes }, faults) {
  if (index > 0) faults.add('more than one root element');
  if (name !== 'div') faults.add('root is not <div>');
  if (!/xmlns\s*=\s*["']http:\/\/www\.w3\.org\/1999\/xhtml["']/.test(attributes)) faults.add('root lacks the XHTML namespace');
}

function attributeFaults(attributes, faults) {
  for (const [, name, double, single] of attributes.matchAll(ATTRIBUTE)) {
    const value = (double ?? single).trim();
    if (!ATTRIBUTES.has(name)) faults.add(`attribute ${name}`);
    if (/^(href|src)$/.test(name) && /^(javascript|vbscript):/i.test(value)) faults.add(`active ${name}`);
    if (name === 'src' && /^https?:/i.test(value)) faults.add('external image (embed it as data: or a contained resource)');
    if (name === 'style' && /url\s*\(|expression/i.test(value)) faults.add('style that loads something');
  }
}
