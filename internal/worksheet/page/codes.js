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
  abductionStrength: 'isometric-abduction-strength',
  externalGrade: 'manual-muscle-test-external-rotation',
  internalGrade: 'manual-muscle-test-internal-rotation',
  abductionGrade: 'manual-muscle-test-abduction',
  leverArm: 'lever-arm-length',
  painDuringTest: 'pain-during-test',
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
  flexionPassive: '41390-6',
  abductionActive: '41381-5',
  abductionPassive: '41382-3',
  externalRotationActive: '41387-2',
  externalRotationPassive: '41388-0',
  internalRotationActive: '41391-4',
  internalRotationPassive: '41392-2',
  pain: '72514-3',
  bodyWeight: '29463-7',
  bodyHeight: '8302-2',

  rightShoulder: '91774008',
  leftShoulder: '91775009',
  externalRotation: '52019005',
  motion: 'motion',
  handedness: '57427004',
  rightHanded: '46669005',
  leftHanded: '87683000',
  ambidextrous: '23088002',
  cuffRepair: '56060000',
  cuffRepairBySuture: '61774002',
  acuteSupraspinatusRepair: '59213002',
  lateSupraspinatusRepair: '66692001',
  cuffAvulsionRepair: '12660003',
};

/** concept is a CodeableConcept of one coding. */
export const concept = (system, code) => ({ coding: [{ system, code }] });

/** ours is a concept of the service's own codes. */
export const ours = (code) => concept(systems.shoulder, code);

export const sides = { right: 'right', left: 'left' };

export const shoulders = { right: codes.rightShoulder, left: codes.leftShoulder };

/** The motions whose strength is tested, by the code of the service. */
export const rotations = { external: 'external rotation', internal: 'internal rotation', abduction: 'abduction' };

export const strengths = { external: codes.externalStrength, internal: codes.internalStrength, abduction: codes.abductionStrength };

export const grades = { external: codes.externalGrade, internal: codes.internalGrade, abduction: codes.abductionGrade };

/** In which positions each motion is tested, from the lowest. */
export const testedIn = {
  external: ['arm-at-side', 'flexion-90', 'abduction-90'],
  internal: ['arm-at-side', 'flexion-90', 'abduction-90'],
  abduction: ['arm-at-side', 'abduction-90', 'scaption-90'],
};

export const positions = {
  'arm-at-side': 'with the arm at the side',
  'flexion-90': 'at 90° of flexion',
  'abduction-90': 'at 90° of abduction',
  'scaption-90': 'at 90° in the plane of the scapula',
};

/** How the arm was held during a test, by code. */
export const supportNames = { supported: 'arm supported', unsupported: 'arm held free' };

export const positionNames = {
  'arm-at-side': 'arm at the side',
  'flexion-90': '90° of flexion',
  'abduction-90': '90° of abduction',
  'scaption-90': '90°, plane of the scapula',
};

/** The movements whose range is measured: as the patient moves, and as the examiner does. */
export const movements = {
  flexion: { active: codes.flexionActive, passive: codes.flexionPassive },
  abduction: { active: codes.abductionActive, passive: codes.abductionPassive },
  'external-rotation': { active: codes.externalRotationActive, passive: codes.externalRotationPassive },
  'internal-rotation': { active: codes.internalRotationActive, passive: codes.internalRotationPassive },
};

export const movementNames = {
  flexion: 'flexion', abduction: 'abduction', 'external-rotation': 'external rotation', 'internal-rotation': 'internal rotation',
};

/** The codes of the hand that is preferred, by the value of the field. */
export const hands = { right: codes.rightHanded, left: codes.leftHanded, both: codes.ambidextrous };

/** The kinds of cuff repair, by the value of the field. */
export const repairs = {
  cuff: codes.cuffRepair,
  suture: codes.cuffRepairBySuture,
  acute: codes.acuteSupraspinatusRepair,
  late: codes.lateSupraspinatusRepair,
  avulsion: codes.cuffAvulsionRepair,
};

export const painContexts = {
  'during-resisted-test': 'pain during the resisted test',
  'at-rest': 'pain at rest',
  'worst-24h': 'worst pain in the last 24 hours',
};
