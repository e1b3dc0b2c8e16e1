// A narrative comes from a resource, so nothing of it is taken over but text,
// and elements and attributes that are known to be harmless.

const headings = { h1: 'h3', h2: 'h3', h3: 'h4', h4: 'h5', h5: 'h6', h6: 'h6' };

const elements = new Set(['div', 'p', 'span', 'b', 'strong', 'i', 'em', 'br', 'ul', 'ol', 'li', 'dl', 'dt', 'dd',
  'table', 'caption', 'thead', 'tbody', 'tfoot', 'tr', 'th', 'td', ...Object.keys(headings)]);

const dropped = new Set(['script', 'style', 'template', 'iframe', 'object', 'embed', 'svg', 'math']);

const attributes = { scope: /^(col|row|colgroup|rowgroup)$/, colspan: /^\d{1,2}$/, rowspan: /^\d{1,2}$/, lang: /^[A-Za-z-]{2,35}$/ };

/**
 * sanitised turns the div of a narrative into elements of this page, with
 * headings one level lower. What is not well-formed gives only its text.
 */
export function sanitised(div) {
  const source = new DOMParser().parseFromString(div, 'application/xhtml+xml');
  const clean = document.createDocumentFragment();
  if (source.querySelector('parsererror')) {
    clean.append(div.replace(/<[^>]*>/g, ' '));
    return clean;
  }
  copy(source.documentElement, clean);
  return clean;
}

function copy(node, into) {
  if (node.nodeType === Node.TEXT_NODE) {
    into.append(node.data);
    return;
  }
  if (node.nodeType !== Node.ELEMENT_NODE || dropped.has(node.localName)) return;
  let target = into;
  if (elements.has(node.localName)) {
    target = document.createElement(headings[node.localName] ?? node.localName);
    for (const [name, allowed] of Object.entries(attributes)) {
      const value = node.getAttribute(name);
      if (value !== null && allowed.test(value)) target.setAttribute(name, value);
    }
    into.append(target);
  }
  for (const child of node.childNodes) copy(child, target);
}
