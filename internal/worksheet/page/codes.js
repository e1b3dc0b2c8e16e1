// The codes that the worksheet writes, each with the words that a person reads.
// A test holds them against the codes that the service reads.

export const systems = {
  shoulder: 'https://evenreach.example/fhir/CodeSystem/shoulder',
  loinc: 'http://loinc.org',
  snomed: 'http://snomed.info/sct',
  ucum: 'http://unitsofmeasure.org',
  uri: 'urn:ietf:rfc:3986',
  category: 'http://terminology.hl7.org/CodeSystem/observation-category',
  conditionClinical: 'http://terminology.hl7.org/CodeSystem/condition-clinical',
  reason: 'http://terminology.hl7.org/CodeSystem/v3-ActReason',
  result: 'https://evenreach.example/fhir/sid/result',
  worksheet: 'https://evenreach.example/fhir/sid/worksheet',
};

export const codes = {
  externalStrength: 'isometric-external-rotation-strength',
  internalStrength: 'isometric-internal-rotation-strength',
  heldSteady: 'arm-held-steady',
  clearance: 'resisted-strengthening-clearance',
  tearSize: 'cuff-tear-size',
  examined: 'examined-and-cleared-to-load',
  permittedLoad: 'permitted-load',
  confirmed: 'measurement-confirmed',
  armPosition: 'arm-position',
  armSupport: 'arm-support',
  contraction: 'contraction-type',
  trial: 'trial',
  painContext: 'pain-context',

  symmetryIndex: 'limb-symmetry-index',
  examination: 'examination',
  rotation: 'rotation',
  intervalLow: 'interval-low',
  intervalHigh: 'interval-high',
  changePrevious: 'change-since-previous',
  changeBaseline: 'change-since-baseline',

  flexionActive: '41389-8',
  abductionActive: '41381-5',
  pain: '72514-3',
  bodyWeight: '29463-7',

  rightShoulder: '91774008',
  leftShoulder: '91775009',
  externalRotation: '52019005',
  cuffRepair: '56060000',
};

/** concept is a CodeableConcept of one coding. */
export const concept = (system, code) => ({ coding: [{ system, code }] });

/** ours is a concept of the service's own codes. */
export const ours = (code) => concept(systems.shoulder, code);

export const sides = { right: 'right', left: 'left' };

export const shoulders = { right: codes.rightShoulder, left: codes.leftShoulder };

export const rotations = { external: 'external rotation', internal: 'internal rotation' };

export const strengths = { external: codes.externalStrength, internal: codes.internalStrength };

export const positions = {
  'arm-at-side': 'with the arm at the side',
  'flexion-90': 'at 90° of flexion',
  'abduction-90': 'at 90° of abduction',
};

/** How the arm was held during a test, by code. */
export const supportNames = { supported: 'arm supported', unsupported: 'arm held free' };

export const positionNames = {
  'arm-at-side': 'arm at the side',
  'flexion-90': '90° of flexion',
  'abduction-90': '90° of abduction',
};

export const movements = { flexion: codes.flexionActive, abduction: codes.abductionActive };

export const painContexts = {
  'during-resisted-test': 'pain during the resisted test',
  'at-rest': 'pain at rest',
  'worst-24h': 'worst pain in the last 24 hours',
};
