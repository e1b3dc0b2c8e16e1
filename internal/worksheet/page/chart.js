// The chart of the answer: the limb symmetry index of each rotation in each
// position with its interval, against the thresholds of the protocol.

import { codes, positionNames, rotations, supportNames } from './codes.js';
import { capital, t } from './words.js';

const svgNamespace = 'http://www.w3.org/2000/svg';

/**
 * chartData takes the indices of an answer, and the thresholds that they are
 * held against. Of a rotation and position the index that decides comes first;
 * others of the same visit are left to the table.
 */
export function chartData(observations) {
  const thresholds = new Map();
  const rows = [];
  for (const observation of observations) {
    const code = observation.code?.coding?.[0]?.code;
    if (code !== codes.symmetryIndex) continue;
    addRow(rows, row(observation));
    collectThresholds(observation, thresholds);
  }
  rows.sort((a, b) => motionOrder(a) - motionOrder(b) || positionOrder(a) - positionOrder(b));
  return { rows, thresholds: [...thresholds].map(([value, name]) => ({ value, name })) };
}

function addRow(rows, line) {
  if (!rows.some(({ rotation, position }) => rotation === line.rotation && position === line.position)) rows.push(line);
}

const positionOrder = ({ position }) => Object.keys(positionNames).indexOf(position);

function row(observation) {
  const value = (code) => component(observation, code)?.valueQuantity?.value;
  const concept = (code) => component(observation, code)?.valueCodeableConcept;
  const index = Number(observation.valueQuantity?.value);
  const before = (change) => (change === undefined ? undefined : index - change);
  const position = concept(codes.armPosition)?.coding?.[0]?.code;
  return {
    rotation: motionOf(concept),
    position,
    name: positionNames[position] ?? '',
    support: supportNames[concept(codes.armSupport)?.coding?.[0]?.code] ?? '',
    index,
    low: value(codes.intervalLow),
    high: value(codes.intervalHigh),
    previous: before(value(codes.changePrevious)),
    baseline: before(value(codes.changeBaseline)),
  };
}

// motionOf is the motion of an index: a rotation, or abduction.
function motionOf(concept) {
  if (concept(codes.motion)) return 'abduction';
  return concept(codes.rotation)?.coding?.[0]?.code === codes.externalRotation ? 'external' : 'internal';
}

const motionName = (rotation) => capital(t(rotations[rotation]));

const motionOrder = ({ rotation }) => Object.keys(rotations).indexOf(rotation);

const component = (observation, code) =>
  observation.component?.find((part) => part.code?.coding?.[0]?.code === code);

// collectThresholds takes the thresholds that an index is held against, so that the
// lines are those of the clinic's own protocol.
function collectThresholds(observation, thresholds) {
  for (const { low, type } of observation.referenceRange ?? []) {
    const rule = type?.coding?.[0]?.code;
    if (low) thresholds.set(Number(low.value), rule);
  }
}

// sizeFor lays the chart out for a width in pixels, so that its words keep their
// size in a narrow window.
function sizeFor(room) {
  const width = Math.min(640, Math.max(290, room));
  const narrow = width < 480;
  return { width, narrow, left: narrow ? 122 : 150, right: narrow ? 50 : 62, top: 40, row: 34, gap: 26, bottom: narrow ? 72 : 54 };
}

/**
 * chart draws the data as SVG for a width in pixels; null if there is nothing
 * to draw.
 */
export function chart({ rows, thresholds }, room) {
  if (rows.length === 0) return null;
  const size = sizeFor(room);
  const scale = scaleOf(rows, thresholds, size);
  const groups = groupByRotation(rows);
  const height = size.top + size.bottom + rows.length * size.row + Object.keys(groups).length * size.gap;
  const svg = element('svg', { viewBox: `0 0 ${size.width} ${height}`, role: 'img', class: 'chart', 'aria-labelledby': 'chart-title chart-text' });
  svg.append(
    element('title', { id: 'chart-title' }, t('Limb symmetry index by rotation and position, with interval')),
    element('desc', { id: 'chart-text' }, rows.map(inWords).join(' ')));
  drawAxis(svg, scale, thresholds, size.top, height - size.bottom + 4);
  let y = size.top;
  for (const [rotation, group] of Object.entries(groups)) {
    svg.append(element('text', { x: 0, y: y + 17, class: 'chart-group' }, motionName(rotation)));
    y += size.gap;
    for (const line of group) {
      drawRow(svg, scale, line, y + size.row / 2, size.width);
      y += size.row;
    }
  }
  drawKey(svg, rows, size, height - size.bottom + 44);
  return svg;
}

function groupByRotation(rows) {
  const groups = {};
  for (const line of rows) (groups[line.rotation] ??= []).push(line);
  return groups;
}

// scaleOf spans the points and thresholds; an interval may leave the picture.
function scaleOf(rows, thresholds, size) {
  const points = [...rows.flatMap(({ index, previous, baseline }) => [index, previous, baseline]), ...thresholds.map(({ value }) => value)].filter(Number.isFinite);
  const from = Math.min(40, Math.floor(Math.min(...points) / 10) * 10);
  const to = Math.max(120, Math.ceil(Math.max(...points) / 10) * 10);
  const width = size.width - size.left - size.right;
  const x = (percent) => size.left + ((percent - from) / (to - from)) * width;
  return { from, to, step: to - from > 120 || size.narrow ? 40 : 20, x };
}

function drawAxis(svg, { from, to, step, x }, thresholds, top, bottom) {
  for (let percent = Math.ceil(from / step) * step; percent <= to; percent += step) {
    svg.append(
      element('line', { x1: x(percent), x2: x(percent), y1: top, y2: bottom, class: 'chart-grid' }),
      element('text', { x: x(percent), y: bottom + 15, class: 'chart-tick' }, `${percent} %`));
  }
  for (const { value, name } of thresholds) {
    svg.append(
      element('line', { x1: x(value), x2: x(value), y1: top - 8, y2: bottom, class: name === 'even' ? 'chart-even' : 'chart-good' }),
      element('text', { x: x(value), y: name === 'even' ? top - 12 : top - 26, class: 'chart-threshold' }, `${t(name === 'good-enough' ? 'good enough' : name)}, ${value} %`));
  }
}

function drawRow(svg, scale, line, y, right) {
  const { x, from, to } = scale;
  svg.append(element('text', { x: 0, y: y + 4, class: 'chart-name' }, t(line.name)));
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
  svg.append(element('text', { x: right, y: y + 4, class: 'chart-value' }, `${line.index.toFixed(1)} %`));
}

// point is a disc for external and a square for internal rotation, and a diamond for abduction.
function point(rotation, x, y) {
  if (rotation === 'external') return element('circle', { cx: x, cy: y, r: 6.5, class: 'chart-now' });
  if (rotation === 'abduction') return element('path', { d: `M${x} ${y - 8}l8 8l-8 8l-8 -8z`, class: 'chart-now' });
  return element('rect', { x: x - 6, y: y - 6, width: 12, height: 12, class: 'chart-now' });
}

const cross = (x, y) => element('path', { d: `M${x - 4} ${y - 4}l8 8m0 -8l-8 8`, class: 'chart-first' });

function drawKey(svg, rows, size, y) {
  const has = (value) => rows.some((line) => Number.isFinite(line[value]));
  const entries = [
    { text: 'now', width: 64, draw: (x, y) => [point('external', x, y - 4), point('internal', x + 17, y - 4)], before: 32 },
    { text: 'interval', width: 92, draw: (x, y) => [element('line', { x1: x - 6, x2: x + 16, y1: y - 4, y2: y - 4, class: 'chart-interval' })], before: 24 },
    has('previous') && { text: 'previous visit', width: 118, draw: (x, y) => [element('circle', { cx: x, cy: y - 4, r: 5, class: 'chart-previous' })], before: 10 },
    has('baseline') && { text: 'first visit', width: 90, draw: (x, y) => [cross(x, y - 4)], before: 10 },
  ];
  const start = size.narrow ? 8 : size.left;
  let x = start;
  for (const { text, width, draw, before } of entries.filter(Boolean)) {
    if (x + width > size.width) {
      x = start;
      y += 18;
    }
    svg.append(...draw(x, y), element('text', { x: x + before, y, class: 'chart-key' }, t(text)));
    x += width + 12;
  }
}

function inWords({ rotation, name, support, index, low, high }) {
  const interval = Number.isFinite(low) && Number.isFinite(high) ? t('interval {low} to {high} %', { low, high }) : t('interval without limits');
  return `${motionName(rotation)}, ${t(name)}${support ? `, ${t(support)}` : ''}: ${index} %, ${interval}.`;
}

function element(name, attributes, text) {
  const made = document.createElementNS(svgNamespace, name);
  for (const [attribute, value] of Object.entries(attributes)) made.setAttribute(attribute, value);
  if (text !== undefined) made.textContent = text;
  return made;
}
