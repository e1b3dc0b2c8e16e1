// The subset of the rules as ELM, by hand. It reads each Observation once and
// works on plain tuples from there, because the data model wraps an element anew
// each time it is read.
//
// Computed: the mean of the trials of each test on both sides in each session,
// the limb symmetry index, the latest index against both thresholds, the ratio
// of external to internal rotation, the pain gate and the range gate.
//
// Left out: measurement error, certainty and probability; change, trend and
// pooled sessions; confirmation over sessions and verdicts that do not flip on
// noise; the muscle grade, the steady arm and the healing of a repair; steps,
// plan, goals, resources and texts. Of the input: codings but the first; units
// other than N, torques and lever arms; a side that is not in bodySite, an
// involved side that is not in a Condition; sessions by Encounter (here a
// session is a day), duplicates, the report of what was dropped, a comparison
// side measured on another day, and the choice among several conditions of one
// session.

import {
  and, at, atLeast, atMost, coalesce, dateFrom, daysBetween, decimal, define, distinct, equal, exists, first,
  flatten, greater, highest, integer, isKnown, isNull, it, joined, last, let_, library, list, mean, of,
  oneOf, or, over, query, ref, resources, string, times, toText, tuple, when,
} from './elm.mjs';

// As in the default protocol, which holds their sources.
const goodEnough = 75; // %
const even = 90; // %
const painGate = 5; // of 10
const fullRange = 180; // deg
const rangeFraction = 75; // %
const rangeMinimum = 90; // deg
const currentDays = 42;

const ours = (code) => string(`https://evenreach.example/fhir/CodeSystem/shoulder|${code}`);
const loinc = (code) => string(`http://loinc.org|${code}`);
const snomed = (code) => string(`http://snomed.info/sct|${code}`);
const right = snomed('91774008');
const left = snomed('91775009');

const externalRotation = ours('isometric-external-rotation-strength');
const internalRotation = ours('isometric-internal-rotation-strength');
const atSide = ours('arm-at-side');
const flexion = ours('flexion-90');
const abduction = ours('abduction-90');
const positions = list(atSide, flexion, abduction);

// coded is the first coding of a concept, as system and code in one.
const coded = (codings) => query({ coding: first(codings) }, {
  give: joined('|', at('coding', 'system.value'), at('coding', 'code.value')),
});

// involved is the side of the first active Condition of a shoulder.
const involved = first(query({ c: resources('Condition') }, {
  lets: { side: coded(of(first(at('c', 'bodySite')), 'coding')) },
  where: and(
    equal(of(first(at('c', 'clinicalStatus.coding')), 'code.value'), string('active')),
    oneOf(let_('side'), right, left)),
  give: let_('side'),
}));
const other = when(equal(ref('Involved'), right), left, right);

// component is the coded value of the first component of a code.
const component = (name) => of(first(query({ d: let_('details') }, {
  where: equal(at('d', 'name'), ours(name)),
})), 'code');

// findings are the usable Observations as plain tuples.
const findings = query({ o: resources('Observation') }, {
  lets: {
    details: query({ c: at('o', 'component') }, {
      give: tuple({
        name: coded(at('c', 'code.coding')),
        code: coded(at('c', 'valueCodeableConcept.coding')),
        value: at('c', 'valueQuantity.value.value'),
        unit: at('c', 'valueQuantity.code.value'),
      }),
    }),
    day: dateFrom(at('o', 'effectiveDateTime.value')),
  },
  where: oneOf(at('o', 'status.value'), string('final'), string('amended'), string('corrected')),
  give: tuple({
    code: coded(at('o', 'code.coding')),
    side: coded(at('o', 'bodySite.coding')),
    day: let_('day'),
    session: toText(let_('day')),
    method: coded(at('o', 'method.coding')),
    position: component('arm-position'),
    support: component('arm-support'),
    contraction: component('contraction-type'),
    context: component('pain-context'),
    unit: at('o', 'valueQuantity.code.value'),
    value: coalesce(at('o', 'valueQuantity.value.value'), at('o', 'valueInteger.value')),
    trials: query({ d: let_('details') }, {
      where: and(equal(at('d', 'name'), ours('trial')), equal(at('d', 'unit'), string('N'))),
      give: at('d', 'value'),
    }),
  }),
});

const isCurrent = (day) => atMost(daysBetween(day, ref('AsOf')), integer(currentDays));

// strength is each test of one side, with the setting that must agree.
const strength = query({ f: ref('Findings') }, {
  lets: { setting: joined(' ', ...['method', 'support', 'contraction'].map((e) => coalesce(at('f', e), string('-')))) },
  where: and(
    oneOf(at('f', 'code'), externalRotation, internalRotation),
    or(exists(at('f', 'trials')), equal(at('f', 'unit'), string('N')))),
  give: tuple({
    code: at('f', 'code'), position: at('f', 'position'), side: at('f', 'side'),
    day: at('f', 'day'), session: at('f', 'session'), setting: let_('setting'),
    test: joined(' ', at('f', 'session'), let_('setting')),
    values: when(exists(at('f', 'trials')), at('f', 'trials'), list(at('f', 'value'))),
  }),
});

// scoresAt are the means of both sides in one rotation and position, by
// session and setting.
const scoreOf = (side) => mean(flatten(query({ t: let_('same') }, {
  where: equal(at('t', 'side'), side), give: at('t', 'values'),
})));
const scoresAt = query({ name: distinct(query({ t: let_('tests') }, { give: at('t', 'test') })) }, {
  lets: {
    same: query({ t: let_('tests') }, { where: equal(at('t', 'test'), it('name')) }),
    one: first(let_('same')),
  },
  give: tuple({
    session: of(let_('one'), 'session'), day: of(let_('one'), 'day'), setting: of(let_('one'), 'setting'),
    involved: scoreOf(ref('Involved')), comparison: scoreOf(other),
  }),
  sort: ['session', 'setting'],
});
const scores = query({ rotation: list(externalRotation, internalRotation), position: positions }, {
  lets: {
    tests: query({ t: ref('Strength') }, {
      where: and(equal(at('t', 'position'), it('position')), equal(at('t', 'code'), it('rotation'))),
    }),
  },
  give: tuple({ rotation: it('rotation'), position: it('position'), scores: scoresAt }),
});

// symmetry is the index of each session, and the latest against the thresholds.
const indices = query({ s: at('p', 'scores') }, {
  where: and(isKnown(at('s', 'involved')), greater(at('s', 'comparison'), decimal(0))),
  give: tuple({
    session: at('s', 'session'), day: at('s', 'day'),
    involved: at('s', 'involved'), comparison: at('s', 'comparison'),
    index: over(times(decimal(100), at('s', 'involved')), at('s', 'comparison')),
  }),
});
const symmetry = query({ p: ref('Scores') }, {
  lets: {
    indices,
    latest: last(let_('indices')),
    deciding: when(isCurrent(of(let_('latest'), 'day')), of(let_('latest'), 'index')),
  },
  give: tuple({
    rotation: at('p', 'rotation'), position: at('p', 'position'),
    sessions: query({ i: let_('indices') }, {
      give: tuple(Object.fromEntries(
        ['session', 'involved', 'comparison', 'index'].map((e) => [e, at('i', e)]))),
    }),
    latest: let_('deciding'),
    goodEnough: atLeast(let_('deciding'), decimal(goodEnough)),
    even: atLeast(let_('deciding'), decimal(even)),
  }),
});

// ratios are external over internal rotation, tested alike in one session.
const ratio = (side) => over(at('e', side), at('i', side));
const ratios = flatten(query({ x: ref('Scores'), n: ref('Scores') }, {
  where: and(
    equal(at('x', 'position'), at('n', 'position')),
    equal(at('x', 'rotation'), externalRotation),
    equal(at('n', 'rotation'), internalRotation)),
  give: query({ e: at('x', 'scores'), i: at('n', 'scores') }, {
    where: and(equal(at('e', 'session'), at('i', 'session')), equal(at('e', 'setting'), at('i', 'setting'))),
    give: tuple({
      position: at('x', 'position'), session: at('e', 'session'),
      involved: ratio('involved'), comparison: ratio('comparison'),
    }),
  }),
}));

// pains are the scores that the pain gate may count.
const pains = query({ f: ref('Findings') }, {
  where: and(
    oneOf(at('f', 'code'), loinc('72514-3'), loinc('38208-5'), snomed('225908003')),
    or(isNull(at('f', 'side')), equal(at('f', 'side'), ref('Involved'))),
    or(isNull(at('f', 'context')), equal(at('f', 'context'), ours('during-resisted-test'))),
    isCurrent(at('f', 'day'))),
});

// worst is the pain of the latest session in a position: the test's own score
// goes before one without a context.
const worst = {
  pains: query({ f: ref('Pains') }, {
    where: or(isNull(at('f', 'position')), equal(at('f', 'position'), it('position'))),
  }),
  painSession: highest(query({ f: let_('pains') }, { give: at('f', 'session') })),
  latestPains: query({ f: let_('pains') }, { where: equal(at('f', 'session'), let_('painSession')) }),
  pain: coalesce(
    highest(query({ f: let_('latestPains') }, { where: isKnown(at('f', 'context')), give: at('f', 'value') })),
    highest(query({ f: let_('latestPains') }, { give: at('f', 'value') }))),
};

// range is the latest active range that an elevated position asks for.
const range = {
  movement: when(equal(it('position'), flexion), loinc('41389-8'),
    when(equal(it('position'), abduction), loinc('41381-5'))),
  ranges: query({ f: ref('Findings') }, {
    where: and(
      equal(at('f', 'code'), let_('movement')), equal(at('f', 'side'), ref('Involved')),
      equal(at('f', 'unit'), string('deg'))),
  }),
  rangeSession: highest(query({ f: let_('ranges') }, { give: at('f', 'session') })),
  degrees: mean(query({ f: let_('ranges') }, {
    where: and(equal(at('f', 'session'), let_('rangeSession')), isCurrent(at('f', 'day'))),
    give: at('f', 'value'),
  })),
  fraction: over(times(decimal(100), let_('degrees')), decimal(fullRange)),
};

const gates = query({ position: positions }, {
  lets: { ...worst, ...range },
  give: tuple({
    position: it('position'),
    pain: let_('pain'),
    painAcceptable: atMost(let_('pain'), integer(painGate)),
    range: let_('degrees'),
    rangeOpen: and(
      atLeast(let_('fraction'), decimal(rangeFraction)), atLeast(let_('degrees'), decimal(rangeMinimum))),
  }),
});

export const rules = library('ShoulderSymmetry', '1.0.0', [
  define('Involved', involved),
  define('Findings', findings),
  define('AsOf', highest(query({ f: ref('Findings') }, { give: at('f', 'day') }))),
  define('Strength', strength),
  define('Scores', scores),
  define('Pains', pains),
  define('Symmetry', symmetry),
  define('Ratios', ratios),
  define('Gates', gates),
]);
