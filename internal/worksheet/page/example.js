// Invented visits to try the worksheet with. They are nobody's.

import { build, Names, trialField } from './bundle.js';

// Each test: three trials of the right, involved side | three of the left side.
const visits = [
  {
    date: '2026-01-12', flexion: '142', abduction: '131', pain: '4', rest: '2', worst: '6',
    external: { 'arm-at-side': '61 63 60 | 88 90 89', 'flexion-90': '48 50 49 | 84 86 85' },
    internal: { 'arm-at-side': '92 95 94 | 121 118 120', 'flexion-90': '80 83 82 | 116 114 117' },
  },
  {
    date: '2026-02-02', flexion: '151', abduction: '140', pain: '3', rest: '1', worst: '5',
    external: { 'arm-at-side': '68 70 69 | 89 91 88', 'flexion-90': '56 57 59 | 86 84 85', 'abduction-90': '50 52 51 | 82 84 83' },
    internal: { 'arm-at-side': '101 99 103 | 120 122 119', 'flexion-90': '90 92 91 | 117 115 116', 'abduction-90': '82 85 83 | 112 110 113' },
  },
  {
    date: '2026-02-23', flexion: '158', abduction: '149', pain: '3', rest: '1', worst: '4',
    external: { 'arm-at-side': '75 77 76 | 90 88 91', 'flexion-90': '64 66 65 | 85 87 86', 'abduction-90': '58 60 59 | 83 82 85' },
    internal: { 'arm-at-side': '107 109 108 | 121 119 120', 'flexion-90': '99 97 98 | 115 118 116', 'abduction-90': '91 93 90 | 112 114 111' },
  },
  {
    date: '2026-03-16', flexion: '164', abduction: '158', pain: '2', rest: '0', worst: '3',
    external: { 'arm-at-side': '81 83 82 | 89 91 90', 'flexion-90': '71 73 72 | 86 85 88', 'abduction-90': '65 67 66 | 84 83 82' },
    internal: { 'arm-at-side': '112 114 113 | 120 121 118', 'flexion-90': '105 104 107 | 117 116 118', 'abduction-90': '97 99 98 | 113 111 112' },
  },
  {
    date: '2026-04-07', flexion: '168', abduction: '165', pain: '1', rest: '0', worst: '2', steady: 'yes',
    external: { 'arm-at-side': '86 88 87 | 90 91 89', 'flexion-90': '77 79 78 | 87 86 85', 'abduction-90': '71 73 72 | 83 84 85' },
    internal: { 'arm-at-side': '116 118 117 | 121 119 120', 'flexion-90': '110 112 111 | 116 118 117', 'abduction-90': '103 105 104 | 112 113 114' },
  },
];

/** example gives the fields of an invented visit, counted from 1, and the visits before it. */
export function example(visit, names) {
  const earlier = visits.slice(0, visit - 1).flatMap((told) => measurements(values(told), names));
  return { values: values(visits[visit - 1]), carried: earlier };
}

// measurements are the Observations of one visit, of the patient of all.
function measurements(of, names) {
  const own = new Names();
  for (const field of ['patient', 'involved']) own.keep(field, names.of(field));
  return build(of, [], own, true).bundle.entry.filter(({ resource }) => resource.resourceType === 'Observation');
}

function values({ date, flexion, abduction, pain, rest, worst, steady = '', external, internal }) {
  const of = {
    patient: 'Invented example', date, involved: 'right', mass: '74', unit: 'N', contraction: 'make',
    instrument: 'belt-stabilised-dynamometry',
    'support.arm-at-side': 'supported', 'support.flexion-90': 'supported', 'support.abduction-90': 'supported',
    'range.flexion.right': flexion, 'range.abduction.right': abduction, 'range.flexion.left': '172', 'range.abduction.left': '170',
    'pain.during-resisted-test': pain, 'pain.at-rest': rest, 'pain.worst-24h': worst,
    'steady.flexion-90': steady, 'steady.abduction-90': '',
    repaired: '', clearance: '', permit: '', examined: '', clinician: '',
  };
  for (const [rotation, tests] of Object.entries({ external, internal })) {
    for (const [position, numbers] of Object.entries(tests)) {
      const [right, left] = numbers.split(' | ');
      right.split(' ').forEach((number, i) => { of[trialField(rotation, position, 'right', i + 1)] = number; });
      left.split(' ').forEach((number, i) => { of[trialField(rotation, position, 'left', i + 1)] = number; });
    }
  }
  return of;
}

/** exampleFile is an invented file of a measuring instrument, in a layout of our own: two patients, a line a trial. */
export const exampleFile = ['record number;day;side;motion;arm;trial;force (N)', ...[['invented-1', 0], ['invented-2', 9]].flatMap(([patient, more]) =>
  Object.entries({ external: 'external rotation', internal: 'internal rotation' }).flatMap(([rotation, motion]) =>
    visits[0][rotation]['arm-at-side'].split(' | ').flatMap((numbers, side) => numbers.split(' ').map((number, trial) =>
      [patient, visits[0].date, ['right', 'left'][side], motion, 'arm at side', trial + 1, `${Number(number) + more},5`].join(';')))))].join('\r\n');
