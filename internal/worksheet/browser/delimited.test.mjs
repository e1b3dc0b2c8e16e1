// The reading of a measuring instrument's file, without a browser. The files are invented.

import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import { dayIn, guess, hasNames, headerAt, markOf, motionIn, numberIn, orderOf, positionIn, roles, sideIn, trialIn, unitIn, unitOfHeader } from '../page/columns.js';
import { rowsIn } from '../page/delimited.js';
import { plan, readingsIn } from '../page/readings.js';
import { choose } from '../page/words.js';

const bytes = (text) => new TextEncoder().encode(text);
const latin1 = (text) => Uint8Array.from(text, (letter) => letter.charCodeAt(0));
const cellsIn = (content) => rowsIn(content).map(({ cells }) => cells);

describe('rows and cells', () => {
  // Expected by RFC 4180 where it says anything: quotes, doubled quotes, line breaks in quotes, CRLF.
  for (const [name, content, wanted] of [
    ['comma', bytes('a,b,c\n1,2,3\n'), [['a', 'b', 'c'], ['1', '2', '3']]],
    ['semicolon with decimal commas', bytes('a;b;c\nx;1,5;2,5\ny;3,5;4,5\n'), [['a', 'b', 'c'], ['x', '1,5', '2,5'], ['y', '3,5', '4,5']]],
    ['semicolon with a decimal comma in each line, no header', bytes('R;82,5\nL;90,1\n'), [['R', '82,5'], ['L', '90,1']]],
    ['tab with decimal commas', bytes('R\t82,5\tN\nL\t90,1\tN'), [['R', '82,5', 'N'], ['L', '90,1', 'N']]],
    ['a quoted separator', bytes('a,b\n"Doe, J.",1\n'), [['a', 'b'], ['Doe, J.', '1']]],
    ['a quoted decimal comma between commas', bytes('R,"82,5",N\nL,"90,1",N\n'), [['R', '82,5', 'N'], ['L', '90,1', 'N']]],
    ['a doubled quote', bytes('a,b\n"say ""yes""",1\n'), [['a', 'b'], ['say "yes"', '1']]],
    ['a quote within a cell', bytes('a,b\n5" pad,1\n'), [['a', 'b'], ['5" pad', '1']]],
    ['a line break in quotes', bytes('a,b\n"one\ntwo",1\n'), [['a', 'b'], ['one\ntwo', '1']]],
    ['CRLF, and none at the end', bytes('a,b\r\n1,2'), [['a', 'b'], ['1', '2']]],
    ['CR alone', bytes('a,b\r1,2\r'), [['a', 'b'], ['1', '2']]],
    ['empty lines, also of separators', bytes('a,b\n\n1,2\n,\n  \n3,4\n\n'), [['a', 'b'], ['1', '2'], ['3', '4']]],
    ['an empty last cell', bytes('a,b,c\n1,2,'), [['a', 'b', 'c'], ['1', '2', '']]],
    ['spaces around cells', bytes(' a , "b" \n1 , 2\n'), [['a', 'b'], ['1', '2']]],
    ['the byte order mark of UTF-8', Uint8Array.of(0xef, 0xbb, 0xbf, ...bytes('a;b\n1;2')), [['a', 'b'], ['1', '2']]],
    ['UTF-8', bytes('côté;b\nrechts außen;2'), [['côté', 'b'], ['rechts außen', '2']]],
    ['Latin-1', latin1('c\xf4t\xe9;b\nau\xdfen;2'), [['côté', 'b'], ['außen', '2']]],
    ['UTF-16 with its mark', Uint8Array.of(0xff, 0xfe, ...[...'a\tb\n1\t2'].flatMap((letter) => [letter.charCodeAt(0), 0])), [['a', 'b'], ['1', '2']]],
  ]) test(name, () => assert.deepEqual(cellsIn(content), wanted));

  test('lines are counted as an editor does, also behind a line break in quotes', () => {
    const rows = rowsIn(bytes('a,b\r\n"one\r\ntwo",1\r\n\r\n3,4\r\n'));
    assert.deepEqual(rows.map(({ line, last }) => [line, last]), [[1, 1], [2, 3], [5, 5]]);
  });

  test('a quote that is not closed, or has letters behind it, spoils its own line', () => {
    const problems = (text) => rowsIn(bytes(text)).map(({ line, problem }) => [line, problem]);
    assert.deepEqual(problems('a,b\n"one,1\ntwo,2\n'), [[1, undefined], [2, 'a quotation mark is not closed'], [3, undefined]]);
    assert.deepEqual(problems('a,b\n"x"y,3\ntwo,2\n'), [[1, undefined], [2, 'letters after a closing quotation mark'], [3, undefined]]);
  });

  for (const [name, content, reason] of [
    ['nothing', bytes(''), /no columns/],
    ['a letter', bytes('Dear colleague\nthank you\n'), /no columns/],
    ['a spreadsheet program\'s own file', Uint8Array.of(0x50, 0x4b, 3, 4, 0, 0, 8), /not a text file/],
    ['what is too large', new Uint8Array(2_000_001).fill(0x61), /too large/],
    ['too many lines', bytes('a,b\n'.repeat(20_001)), /too many lines/],
  ]) test(`${name} is refused`, () => assert.throws(() => rowsIn(content), reason));
});

test('numbers: decimal point or comma, thousands, and a unit behind', () => {
  for (const [text, mark, wanted, unit = ''] of [
    ['82.5', '', '82.5'], ['82,5', '', '82.5'], ['82', '', '82'], ['082,50', '', '82.50'], ['+82.5', '', '82.5'], ['-3', '', '-3'],
    ['1.234,5', '', '1234.5'], ['1,234.5', '', '1234.5'], ['1 234,5', '', '1234.5'], ['1 234', '', '1234'], ["1'234.5", '', '1234.5'],
    ['1,234', '.', '1234'], ['1,234', ',', '1.234'], ['1.234', '', '1.234'], ['1,234,567', '', '1234567'],
    ['82.5 N', '', '82.5', 'N'], ['8,4kgf', ',', '8.4', 'kgf'],
  ]) assert.deepEqual(numberIn(text, mark), { value: wanted, unit }, text);
  for (const text of ['', 'N', 'eighty', '8-4', '1.2.3', '12,34.5', '82 5', '1e3', '2026-03-09', '10:15', '.', ',5']) assert.equal(numberIn(text), null, text);
});

test('the decimal mark of a column is what its numbers tell', () => {
  for (const [cells, wanted] of [[['82,5', '1.234'], ','], [['82.5', '1,234'], '.'], [['1,234', '2,345'], ''], [['82,5', '82.5'], ''], [['1.234,5'], ','], [['8,4 N.m'], ',']]) {
    assert.equal(markOf(cells), wanted, cells.join(' '));
  }
});

test('days', () => {
  for (const [text, order, wanted] of [
    ['2026-03-09', '', '2026-03-09'], ['2026-03-09T10:15:00Z', '', '2026-03-09'], ['2026/3/9', '', '2026-03-09'], ['09.03.2026', '', '2026-03-09'], ['9.3.2026 10:15', '', '2026-03-09'],
    ['23/03/2026', '', '2026-03-23'], ['03/23/2026', '', '2026-03-23'], ['03/04/2026', '', '?'], ['03/04/2026', 'day', '2026-04-03'], ['03/04/2026', 'month', '2026-03-04'],
    ['31.02.2026', '', ''], ['2026-13-01', '', ''], ['09.03.26', '', ''], ['March', '', ''],
  ]) assert.equal(dayIn(text, order), wanted, text);
  assert.deepEqual([orderOf(['03/04/2026', '23/04/2026']), orderOf(['03/04/2026', '04/23/2026']), orderOf(['23/04/2026', '04/23/2026']), orderOf(['2026-03-04'])], ['day', 'month', '', '']);
});

test('the words of the trade in the languages of the page', () => {
  const cases = (read, all) => { for (const [wanted, texts] of Object.entries(all)) for (const text of texts) assert.equal(read(text), wanted === 'none' ? '' : wanted, text); };
  cases(sideIn, { right: ['R', 'right', 'Right side', 'rechts', 'Rechte Seite', 'droite', 'côté droit'], left: ['L', 'LEFT', 'links', 'gauche', 'Côté gauche'], none: ['', 'both', 'x', '1', 'bilateral', 'L/R'] });
  cases(motionIn, {
    external: ['ER', 'external rotation', 'Ext. rotation', 'lateral rotation', 'Außenrotation', 'AR', 'rotation externe', 'RE', 'external rotation, 90° of abduction'],
    internal: ['IR', 'Internal Rotation', 'medial rotation', 'Innenrotation', 'rotation interne', 'RI'],
    abduction: ['abduction', 'Abduktion', 'abd'], none: ['', 'flexion', 'grip', 'rotation'],
  });
  cases(positionIn, {
    'arm-at-side': ['arm at side', 'arm-at-side', 'with the arm at the side', 'side', '0°', 'neutral', 'Arm am Körper', 'bras le long du corps'],
    'flexion-90': ['90° of flexion', 'flexion 90', 'flexion-90', '90° Flexion', 'at 90° of flexion', '90° de flexion'],
    'abduction-90': ['90° of abduction', 'ABD 90', '90° Abduktion', "90° d'abduction", 'external rotation, 90° abduction'],
    'scaption-90': ['scaption', '90°, plane of the scapula', 'Skapulaebene', 'plan scapulaire'], none: ['', '0', '90', '45° of abduction', 'overhead'],
  });
  cases(unitIn, { N: ['N', 'newton'], kgf: ['kg', 'kgf', 'kp'], '[lbf_av]': ['lb', 'lbs', 'lbf', '[lbf_av]'], 'N.m': ['Nm', 'N·m', 'N*m', 'N.m'], 'kgf.cm': ['kgf·cm'], '[lbf_av].[in_i]': ['lbf·in', 'in-lb'], '[lbf_av].[ft_i]': ['ft-lb'], none: ['', '%', 'W', 'mm'] });
  assert.deepEqual(['Force (N)', 'Kraft [kgf]', 'Force / lbf', 'L/R', 'Force'].map(unitOfHeader), ['N', 'kgf', '[lbf_av]', '', '']);
  assert.deepEqual(['2', 'Trial 2', '#3', 'Versuch 1', 'first', '2/3'].map(trialIn), [2, 2, 3, 1, undefined, undefined]);
});

// The invented file of the README.
const invented = `record number;day;side;motion;arm;trial;force (N)
invented-1;2026-03-09;right;external rotation;at side;1;82,5
invented-1;2026-03-09;left;external rotation;at side;1;90,1
`;

test('columns are guessed by their names, else by what stands in them', () => {
  const rows = rowsIn(bytes(invented));
  const [{ cells: header }, ...lines] = rows;
  assert.equal(headerAt(rows), 0);
  assert.deepEqual(guess(header, lines), { side: 2, motion: 3, position: 4, value: 6, unit: 6, date: 1, trial: 5, patient: 0 });
  const bare = rowsIn(bytes('R;ER;90° of flexion;82,5;N\nL;ER;90° of flexion;90,1;N\n'));
  assert.equal(headerAt(bare), -1);
  assert.deepEqual(guess([], bare), { side: 0, motion: 1, position: 2, value: 3, unit: 4, date: '', trial: '', patient: '' });
  const one = rowsIn(bytes('R;ER, 90° of flexion;82,5 N\nL;ER, 90° of flexion;90,1 N\n'));
  assert.deepEqual(guess([], one), { side: 0, motion: 1, position: 1, value: 2, unit: 2, date: '', trial: '', patient: '' });
});

test('a line above the table is no header, and a measurement neither', () => {
  const rows = rowsIn(bytes('name;Invented person;;\nside;motion;position;value\nR;ER;at side;82\n'));
  assert.equal(headerAt(rows), 1);
  for (const cells of [['right', 'ER', 'at side', '82'], ['Invented person', '', '', ''], ['a', 'a', 'a']]) assert.equal(hasNames({ cells }), false, cells.join());
});

const mapping = { side: 0, motion: 1, position: 2, value: 3, unit: 4, date: 5, trial: 6, patient: 7 };
const none = Object.fromEntries(roles.map((role) => [role, '']));
const row = (line, ...cells) => ({ line, last: line, cells });

describe('lines', () => {
  const good = ['R', 'ER', 'at side', '82,5', 'N', '2026-03-09', '1', '4711'];
  const read = (cells, of = mapping) => readingsIn([row(2, ...cells)], [], of);

  test('are read', () => {
    assert.deepEqual(read(good).readings, [{ line: 2, last: 2, cells: good, side: 'right', motion: 'external', position: 'arm-at-side', value: '82.5', unit: 'N', day: '2026-03-09', trial: 1, patient: '4711' }]);
  });

  for (const [name, at, cell, reason] of [
    ['unknown side', 0, 'both', /unknown side: found “both”/], ['no side', 0, '', /unknown side/], ['unknown motion', 1, 'grip', /unknown motion: found “grip”/],
    ['unknown position', 2, 'overhead', /unknown position: found “overhead”/], ['a position that is not tested', 2, 'scaption', /not tested in this position/],
    ['no value', 3, '', /no value/], ['no number', 3, 'n/a', /not a number: “n\/a”/], ['unknown unit', 4, 'mV', /unknown unit: found “mV”/], ['no unit', 4, '', /unknown unit/],
    ['no day', 5, 'Monday', /not a day/], ['an unclear day', 5, '03/04/2026', /day and month/], ['a fourth trial', 6, '4', /expected 1 to 3/], ['no trial', 6, 'last', /expected 1 to 3/],
    ['nobody', 7, '', /no record number/],
  ]) test(`${name} is refused with its line`, () => {
    const { readings, refused } = read(good.with(at, cell));
    assert.deepEqual([readings.length, refused.length, refused[0].line], [0, 1, 2]);
    assert.match(refused[0].reason, reason);
  });

  for (const language of ['de', 'fr']) {
    test(`the reasons are said in ${language}`, () => {
      const reasons = () => good.flatMap((_, at) => ['', 'x', '03/04/2026', 'scaption'].flatMap((cell) => read(good.with(at, cell)).refused.map(({ reason }) => reason)));
      const english = new Set(reasons());
      choose(language);
      const same = reasons().filter((reason) => english.has(reason));
      choose('en');
      assert.deepEqual([english.size > 12, same], [true, []]);
    });
  }

  test('a line that is too short is refused, and the others are read', () => {
    const { readings, refused } = readingsIn([row(2, ...good.slice(0, 3)), row(3, ...good)], [], mapping);
    assert.deepEqual([readings.map(({ line }) => line), refused.map(({ line }) => line)], [[3], [2]]);
  });

  test('the same for all lines may be the motion, the position and the unit', () => {
    const [reading] = readingsIn([row(1, 'L', '90.1')], [], { ...none, side: 0, value: 1, motion: '=internal', position: '=flexion-90', unit: '=kgf' }).readings;
    assert.deepEqual([reading.motion, reading.position, reading.unit, reading.day, reading.trial], ['internal', 'flexion-90', 'kgf', '', 0]);
  });

  test('the unit stands behind the value, or in the name of its column', () => {
    const of = { ...none, side: 0, value: 1, unit: 1, motion: '=internal', position: '=flexion-90' };
    const units = (cell, name) => readingsIn([row(2, 'L', cell)], ['side', name], of).readings.map(({ unit }) => unit);
    assert.deepEqual([units('8,4 kgf', 'force'), units('84', 'force (N)'), units('84', 'force')], [['kgf'], ['N'], []]);
  });
});

describe('worksheets', () => {
  const reading = (line, more) => ({ line, side: 'right', motion: 'external', position: 'arm-at-side', value: '82', unit: 'N', day: '2026-03-09', trial: 0, patient: '', ...more });
  const sheet = (values = {}, carried = []) => ({ values: { patient: '', date: '2026-11-28', unit: 'N', ...values }, carried });
  const field = (trial) => `trial.external.arm-at-side.right.${trial}`;
  const refusals = ({ refused }) => refused.map(({ line, reason }) => [line, reason]);

  test('trials without a number take the free fields in their order, a fourth has no room', () => {
    const { sheets: [{ at, values }], refused } = plan(['81', '82', '83', '84'].map((value, i) => reading(i + 2, { value })), [sheet()], 0);
    assert.deepEqual([at, values], [0, { date: '2026-03-09', unit: 'N', [field(1)]: '81', [field(2)]: '82', [field(3)]: '83' }]);
    assert.deepEqual(refusals({ refused }), [[5, 'there is room for three trials of a test']]);
  });

  test('nothing that stands on a worksheet is overwritten', () => {
    const shown = sheet({ date: '2026-03-09', [field(2)]: '70' });
    const made = plan([reading(2, { trial: 2 }), reading(3, { trial: 0, value: '81' }), reading(4, { value: '83' }), reading(5, { unit: 'kgf' }), reading(6, { day: '2026-03-10' })], [shown], 0);
    assert.deepEqual(made.sheets[0].values, { unit: 'N', [field(1)]: '81', [field(3)]: '83' });
    assert.deepEqual(refusals(made), [[2, 'this trial has a value already'], [5, 'another unit than the other values of this visit'], [6, 'later than the visit on the worksheet, 2026-03-09']]);
  });

  test('several patients go to the list of the day, each to its own worksheet', () => {
    const sheets = [sheet({ patient: 'A-1' }), sheet({ patient: 'b-2' })];
    const made = plan([reading(2, { patient: 'C-3' }), reading(3, { patient: 'B-2' }), reading(4, { patient: 'a-1' }), reading(5, { patient: 'c-3', value: '85' })], sheets, 0);
    assert.deepEqual(made.sheets.map(({ patient, at, lines }) => [patient, at, lines.map(({ line }) => line)]), [['C-3', undefined, [2, 5]], ['B-2', 1, [3]], ['a-1', 0, [4]]]);
  });

  test('an empty worksheet takes the first patient, one of another patient never', () => {
    const places = (shown) => plan([reading(2, { patient: 'A-1' }), reading(3, { patient: 'B-2' })], [shown], 0).sheets.map(({ at }) => at);
    assert.deepEqual(places(sheet({ patient: 'Z-9' })), [undefined, undefined]);
    assert.deepEqual(places(sheet({ [field(1)]: '70' })), [undefined, undefined]);
    assert.deepEqual(places(sheet())[0], 0);
    assert.deepEqual(places(sheet())[1], undefined);
  });

  test('earlier days become earlier visits, and one that is there is not doubled', () => {
    const there = { resource: { resourceType: 'Observation', effectiveDateTime: '2026-02-02' } };
    const made = plan([reading(2, { day: '2026-03-09' }), reading(3, { day: '2026-02-16', value: '75' }), reading(4, { day: '2026-02-02' })], [sheet({}, [there])], 0);
    assert.deepEqual([...made.sheets[0].earlier], [['2026-02-16', { date: '2026-02-16', unit: 'N', [field(1)]: '75' }]]);
    assert.deepEqual(refusals(made), [[4, 'the visit of 2026-02-02 is on the worksheet already']]);
  });
});
