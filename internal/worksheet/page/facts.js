// What is measured of a shoulder or a person beside strength, a field each, and how it is
// coded. The Bundle is written by this table, and an earlier visit read back by it.

import { codes, concept, grades, hands, movements, ours, painContexts, positions, rotations, sides, systems, testedIn } from './codes.js';

/**
 * A fact: its field, its code, the side that it is of ('involved' for that under
 * treatment, '' for none), its unit or the codes of its choices, the coded components,
 * whether an answer can be computed of it, and the category of the Observation. A component whose value is that of another field
 * has the field's name as "from".
 */
export const fact = (field, code, more) => ({ field, code, side: '', components: [], assessable: true, category: 'exam', ...more });

const loinc = (code) => concept(systems.loinc, code);

const rotates = (movement) => movement.endsWith('rotation');

const ranges = Object.entries(movements).flatMap(([movement, byWay]) => Object.entries(byWay).flatMap(([way, code]) =>
  Object.keys(sides).map((side) => fact(`${way === 'active' ? 'range' : way}.${movement}.${side}`, loinc(code), {
    side, unit: 'deg', components: rotates(movement) ? [{ code: codes.armPosition, from: 'rotation-position' }] : [],
  }))));

const pains = Object.keys(painContexts).map((context) => fact(`pain.${context}`, loinc(codes.pain), {
  side: 'involved', unit: '{score}', components: [{ code: codes.painContext, value: context }],
}));

const painsByPosition = Object.keys(positions).map((position) => fact(`painful.${position}`, loinc(codes.pain), {
  side: 'involved', unit: '{score}',
  components: [{ code: codes.painContext, value: 'during-resisted-test' }, { code: codes.armPosition, value: position }],
}));

const steadiness = Object.keys(positions).map((position) => fact(`steady.${position}`, ours(codes.heldSteady), {
  side: 'involved', components: [{ code: codes.armPosition, value: position }],
}));

const muscleGrades = Object.keys(rotations).flatMap((rotation) => testedIn[rotation].flatMap((position) =>
  Object.keys(sides).map((side) => fact(`grade.${rotation}.${position}.${side}`, ours(grades[rotation]), {
    side, choices: (grade) => ours(grade), components: [{ code: codes.armPosition, value: position }],
  }))));

const ofPerson = [
  fact('mass', loinc(codes.bodyWeight), { unit: 'kg', assessable: false, category: 'vital-signs' }),
  fact('height', loinc(codes.bodyHeight), { unit: 'cm', assessable: false, category: 'vital-signs' }),
  fact('lever', ours(codes.leverArm), { unit: 'cm', assessable: false }),
  fact('dominant', concept(systems.snomed, codes.handedness), {
    choices: (hand) => concept(systems.snomed, hands[hand]), assessable: false,
  }),
];

export const facts = [...ranges, ...pains, ...painsByPosition, ...steadiness, ...muscleGrades, ...ofPerson];

/** addFacts adds what the protocol asks for beside. */
export const addFacts = (more) => facts.push(...more);
