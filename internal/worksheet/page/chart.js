// The chart of the answer: the limb symmetry index of each rotation in each
// position with its interval, against the thresholds of the protocol.

import { codes, positions } from './codes.js';

const svgNamespace = 'http://www.w3.org/2000/svg';

/** The indices of an answer, and the thresholds that they are held against. */
export function chartData(observations) {
  const thresholds = new Map();
  const rows = [];
  for (const observation of observations) {
    const code = observation.code?.coding?.[0]?.code;
    if (code === codes.symmetryIndex) rows.push(row(observation));
    if (code === codes.rotationReadiness) collectThresholds(observation, thresholds);
  }
  rows.sort((a, b) => a.rotation.localeCompare(b.rotation) || positionOrder(a) - positionOrder(b));
  return { rows, thresholds: [...thresholds].map(([value, name]) => ({ value, name })) };
}

const positionOrder = ({ position }) => Object.keys(positions).indexOf(position);

function row(observation) {
  const value = (code) => component(observation, code)?.valueQuantity?.value;
  const concept = (code) => component(observation, code)?.valueCodeableConcept;
  const support = concept(codes.armSupport);
  return {
    rotation: concept(codes.rotation)?.coding?.[0]?.code === codes.externalRotation ? 'external' : 'internal',
    position: concept(codes.armPosition)?.coding?.[0]?.code ?? '',
    name: concept(codes.armPosition)?.text ?? '',
    support: support?.text ?? '',
    index: Number(observation.valueQuantity?.value),
    low: value(codes.intervalLow),
    high: value(codes.intervalHigh),
    previous: value(codes.previousValue),
    baseline: value(codes.baselineValue),
    day: String(observation.effectiveDateTime ?? '').slice(0, 10),
  };
}

const component = (observation, code) =>
  observation.component?.find((part) => part.code?.coding?.[0]?.code === code);

// collectThresholds takes the thresholds of the criteria of strength, so that
// the lines are those of the clinic's own protocol.
function collectThresholds(observation, thresholds) {
  for (const part of observation.component ?? []) {
    const name = /^(good-enough|even)-.*-value$/.exec(part.code?.coding?.[0]?.code ?? '')?.[1];
    const low = part.referenceRange?.[0]?.low;
    if (name && low?.code === '%') thresholds.set(Number(low.value), name === 'even' ? 'even' : 'good enough');
  }
}

const size = { width: 640, left: 172, right: 62, top: 40, row: 34, gap: 26, bottom: 54 };

/** chart draws the data as SVG; null if there is nothing to draw. */
export function chart({ rows, thresholds }) {
  if (rows.length === 0) return null;
  const scale = scaleOf(rows, thresholds);
  const groups = Object.groupBy ? Object.groupBy(rows, ({ rotation }) => rotation) : groupByRotation(rows);
  const height = size.top + size.bottom + rows.length * size.row + Object.keys(groups).length * size.gap;
  const svg = element('svg', { viewBox: `0 0 ${size.width} ${height}`, role: 'img', class: 'chart', 'aria-labelledby': 'chart-title chart-text' });
  svg.append(
    element('title', { id: 'chart-title' }, 'Limb symmetry index by rotation and position, with interval'),
    element('desc', { id: 'chart-text' }, rows.map(inWords).join(' ')));
  drawAxis(svg, scale, thresholds, height);
  let y = size.top;
  for (const [rotation, group] of Object.entries(groups)) {
    svg.append(element('text', { x: 0, y: y + 17, class: 'chart-group' }, rotation === 'external' ? 'External rotation' : 'Internal rotation'));
    y += size.gap;
    for (const line of group) {
      drawRow(svg, scale, line, y + size.row / 2);
      y += size.row;
    }
  }
  drawKey(svg, rows, height - 10);
  return svg;
}

function groupByRotation(rows) {
  const groups = {};
  for (const line of rows) (groups[line.rotation] ??= []).push(line);
  return groups;
}

// scaleOf spans the points and thresholds; an interval may leave the picture.
function scaleOf(rows, thresholds) {
  const points = [...rows.flatMap(({ index, previous, baseline }) => [index, previous, baseline]), ...thresholds.map(({ value }) => value)].filter(Number.isFinite);
  const from = Math.min(40, Math.floor(Math.min(...points) / 10) * 10);
  const to = Math.max(120, Math.ceil(Math.max(...points) / 10) * 10);
  const width = size.width - size.left - size.right;
  const x = (percent) => size.left + ((percent - from) / (to - from)) * width;
  return { from, to, step: to - from > 120 ? 40 : 20, x };
}

function drawAxis(svg, { from, to, step, x }, thresholds, height) {
  const bottom = height - size.bottom + 4;
  for (let percent = Math.ceil(from / step) * step; percent <= to; percent += step) {
    svg.append(
      element('line', { x1: x(percent), x2: x(percent), y1: size.top, y2: bottom, class: 'chart-grid' }),
      element('text', { x: x(percent), y: bottom + 15, class: 'chart-tick' }, `${percent} %`));
  }
  for (const { value, name } of thresholds) {
    svg.append(
      element('line', { x1: x(value), x2: x(value), y1: size.top - 8, y2: bottom, class: name === 'even' ? 'chart-even' : 'chart-good' }),
      element('text', { x: x(value), y: name === 'even' ? size.top - 12 : size.top - 26, class: 'chart-threshold' }, `${name}, ${value} %`));
  }
}

function drawRow(svg, scale, line, y) {
  const { x, from, to } = scale;
  svg.append(element('text', { x: 0, y: y + 4, class: 'chart-name' }, line.name));
  const bounded = Number.isFinite(line.low) && Number.isFinite(line.high);
  const low = bounded ? Math.max(line.low, from) : from;
  const high = bounded ? Math.min(line.high, to) : to;
  svg.append(element('line', { x1: x(low), x2: x(high), y1: y, y2: y, class: bounded ? 'chart-interval' : 'chart-interval chart-unbounded' }));
  for (const [end, cut] of [[low, !bounded || line.low < from], [high, !bounded || line.high > to]]) {
    if (!cut) svg.append(element('line', { x1: x(end), x2: x(end), y1: y - 5, y2: y + 5, class: 'chart-interval' }));
  }
  if (Number.isFinite(line.baseline)) svg.append(cross(x(line.baseline), y));
  if (Number.isFinite(line.previous)) svg.append(element('circle', { cx: x(line.previous), cy: y, r: 5, class: 'chart-previous' }));
  svg.append(point(line.rotation, x(line.index), y));
  svg.append(element('text', { x: size.width, y: y + 4, class: 'chart-value' }, `${line.index.toFixed(1)} %`));
}

// point is a disc for external and a square for internal rotation.
function point(rotation, x, y) {
  if (rotation === 'external') return element('circle', { cx: x, cy: y, r: 6.5, class: 'chart-now' });
  return element('rect', { x: x - 6, y: y - 6, width: 12, height: 12, class: 'chart-now' });
}

const cross = (x, y) => element('path', { d: `M${x - 4} ${y - 4}l8 8m0 -8l-8 8`, class: 'chart-first' });

function drawKey(svg, rows, y) {
  const entries = [
    [(x) => [point('external', x, y - 4), point('internal', x + 17, y - 4)], 34, 'now'],
    [(x) => [element('line', { x1: x - 6, x2: x + 16, y1: y - 4, y2: y - 4, class: 'chart-interval' })], 28, 'interval'],
  ];
  if (rows.some(({ previous }) => Number.isFinite(previous))) {
    entries.push([(x) => [element('circle', { cx: x, cy: y - 4, r: 5, class: 'chart-previous' })], 14, 'previous visit']);
  }
  if (rows.some(({ baseline }) => Number.isFinite(baseline))) {
    entries.push([(x) => [cross(x, y - 4)], 14, 'first visit']);
  }
  let x = size.left;
  for (const [draw, width, text] of entries) {
    svg.append(...draw(x), element('text', { x: x + width - 4, y, class: 'chart-key' }, text));
    x += width + 14 + text.length * 7;
  }
}

function inWords({ rotation, name, support, index, low, high }) {
  const interval = Number.isFinite(low) && Number.isFinite(high) ? `interval ${low} to ${high} %` : 'interval without limits';
  return `${rotation === 'external' ? 'External' : 'Internal'} rotation, ${name}${support ? `, ${support}` : ''}: ${index} %, ${interval}.`;
}

function element(name, attributes, text) {
  const made = document.createElementNS(svgNamespace, name);
  for (const [attribute, value] of Object.entries(attributes)) made.setAttribute(attribute, value);
  if (text !== undefined) made.textContent = text;
  return made;
}
