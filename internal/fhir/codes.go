package fhir

// The code systems, codes and extensions that Evenreach reads or writes. Every
// LOINC number and SNOMED CT identifier here was seen in an official text or in
// independent published ones; none is inferred from a numbering pattern.

// CanonicalBase is where the project's own artefacts have their canonical URLs.
const CanonicalBase = "https://evenreach.example/fhir"

// The code systems.
const (
	SystemShoulder   = CanonicalBase + "/CodeSystem/shoulder"    // our own: what no standard has a code for
	SystemInputIssue = CanonicalBase + "/CodeSystem/input-issue" // our own: the kinds of input issues

	SystemLOINC  = "http://loinc.org"
	SystemSNOMED = "http://snomed.info/sct"
	SystemUCUM   = "http://unitsofmeasure.org"
	SystemICF    = "http://hl7.org/fhir/sid/icf"

	SystemObservationCategory   = "http://terminology.hl7.org/CodeSystem/observation-category"
	SystemInterpretation        = "http://terminology.hl7.org/CodeSystem/v3-ObservationInterpretation"
	SystemDataAbsentReason      = "http://terminology.hl7.org/CodeSystem/data-absent-reason"
	SystemReferenceRangeMeaning = "http://terminology.hl7.org/CodeSystem/referencerange-meaning"
	SystemGoalAchievement       = "http://terminology.hl7.org/CodeSystem/goal-achievement"
	SystemGoalCategory          = "http://terminology.hl7.org/CodeSystem/goal-category"
	SystemConditionClinical     = "http://terminology.hl7.org/CodeSystem/condition-clinical"
	SystemConditionVerification = "http://terminology.hl7.org/CodeSystem/condition-ver-status"
	SystemDiagnosticService     = "http://terminology.hl7.org/CodeSystem/v2-0074"
	SystemUSCoreCarePlan        = "http://hl7.org/fhir/us/core/CodeSystem/careplan-category"
)

// Our own codes of SystemShoulder for what is measured or stated. The codes of
// arm positions, support, contraction types, methods and pain contexts are
// those of the enumerations of the package shoulder.
const (
	CodeExternalRotationStrength = "isometric-external-rotation-strength" // Quantity: force or torque
	CodeInternalRotationStrength = "isometric-internal-rotation-strength" // Quantity: force or torque
	CodeExternalRotationGrade    = "manual-muscle-test-external-rotation" // 0 to 5 with plus and minus
	CodeInternalRotationGrade    = "manual-muscle-test-internal-rotation" // 0 to 5 with plus and minus
	CodeAbductionStrength        = "isometric-abduction-strength"         // Quantity: force or torque
	CodeAbductionGrade           = "manual-muscle-test-abduction"         // 0 to 5 with plus and minus
	CodeArmHeldSteady            = "arm-held-steady"                      // boolean: the upper arm stayed still while held free
	CodeLeverArmLength           = "lever-arm-length"                     // Quantity: axis of rotation to dynamometer pad
	CodeResistedClearance        = "resisted-strengthening-clearance"     // boolean: cleared for resisted work
	CodeCuffTearSize             = "cuff-tear-size"                       // Quantity: largest extent of the tear
	CodeExaminedAndCleared       = "examined-and-cleared-to-load"         // boolean: examined after a red flag, and may be loaded
	CodePermittedLoad            = "permitted-load"                       // code: the phase of load that the surgeon permits after a repair
	CodeMeasurementConfirmed     = "measurement-confirmed"                // boolean: the Observations in focus are right although they look doubtful
)

// Our own codes of SystemShoulder for the components of a measurement.
const (
	CodeArmPosition     = "arm-position"     // code: where the arm is during the test
	CodeArmSupport      = "arm-support"      // code: whether the arm lies on something
	CodeContractionType = "contraction-type" // code: make or break
	CodeTrial           = "trial"            // Quantity: one of several repetitions
	CodePainContext     = "pain-context"     // code: when the pain was felt
	CodePainDuringTest  = "pain-during-test" // boolean: the reading was limited by pain
)

// CodePlannedRetest is our code of SystemShoulder for an Encounter, in meta.tag: the tests
// of a visit before are repeated as planned, without treatment in between, to learn the
// error of measurement.
const CodePlannedRetest = "planned-retest"

// CodeSide is our code of SystemShoulder for the side that a site's code implies,
// as a product of a ConceptMap.
const CodeSide = "side" // right or left

// Our own codes of SystemShoulder for what is computed.
const (
	CodeLimbSymmetryIndex      = "limb-symmetry-index"      // %, involved to comparison side
	CodeRotationRatio          = "er-ir-ratio"              // external to internal rotation strength
	CodeRangeFraction          = "range-fraction"           // %, active range to full range
	CodeStrengthChange         = "strength-change"          // against the previous session
	CodeRotationReadiness      = "rotation-readiness"       // code: the open step of a rotation
	CodeOverallReadiness       = "overall-readiness"        // code: the status of the whole
	CodeRotation               = "rotation"                 // component: which rotation
	CodeMotion                 = "motion"                   // component: which motion, if it is no rotation
	CodeIntervalLow            = "interval-low"             // component: lower end of the interval
	CodeIntervalHigh           = "interval-high"            // component: upper end of the interval
	CodeProbabilityAtThreshold = "probability-at-threshold" // component: %, that the true value reaches the threshold
)

// LOINC: range of motion of the shoulder, in degrees.
const (
	LOINCFlexionActive           = "41389-8" // Shoulder Flexion Active Range of Motion Quantitative
	LOINCFlexionPassive          = "41390-6" // Shoulder Flexion Passive Range of Motion Quantitative
	LOINCAbductionActive         = "41381-5" // Shoulder Abduction Active Range of Motion Quantitative
	LOINCAbductionPassive        = "41382-3" // Shoulder Abduction Passive Range of Motion Quantitative
	LOINCExternalRotationActive  = "41387-2" // Shoulder External rotation Active Range of Motion Quantitative
	LOINCExternalRotationPassive = "41388-0" // Shoulder External rotation Passive Range of Motion Quantitative
	LOINCInternalRotationActive  = "41391-4" // Shoulder Internal rotation Active Range of Motion Quantitative
	LOINCInternalRotationPassive = "41392-2" // Shoulder Internal rotation Passive Range of Motion Quantitative

	LOINCLeftFlexionActive            = "41295-7" // Shoulder - left Flexion Active Range of Motion Quantitative
	LOINCRightFlexionActive           = "41307-0" // Shoulder - right Flexion Active Range of Motion Quantitative
	LOINCLeftAbductionActive          = "41299-9" // Shoulder - left Abduction Active Range of Motion Quantitative
	LOINCRightInternalRotationPassive = "41316-1" // Shoulder - right Internal rotation Passive Range of Motion Quantitative
)

// LOINC: pain, body measures and reports.
const (
	LOINCPainVerbalRating        = "72514-3" // Pain severity - 0-10 verbal numeric rating [Score] - Reported
	LOINCPainNumericRating       = "38208-5" // pain, numeric rating from 0 to 10
	LOINCBodyWeight              = "29463-7" // Body weight
	LOINCBodyHeight              = "8302-2"  // Body height
	LOINCPhysicalTherapyProgress = "11508-9" // Physical therapy Progress note
)

// SNOMED CT: laterality.
const (
	SNOMEDRight           = "24028007"  // Right (qualifier value)
	SNOMEDLeft            = "7771000"   // Left (qualifier value)
	SNOMEDRightAndLeft    = "51440002"  // Right and left (qualifier value)
	SNOMEDUnilateralLeft  = "419161000" // Unilateral left (qualifier value)
	SNOMEDUnilateralRight = "419465000" // Unilateral right (qualifier value)
)

// SNOMED CT: body sites.
const (
	SNOMEDRightShoulder    = "91774008"  // Structure of right shoulder region (body structure)
	SNOMEDLeftShoulder     = "91775009"  // Structure of left shoulder region (body structure)
	SNOMEDShoulder         = "16982005"  // Shoulder region structure (body structure)
	SNOMEDShoulderJoint    = "31398001"  // Joint structure of shoulder region (body structure)
	SNOMEDShoulderGirdle   = "26444007"  // Shoulder girdle structure (body structure)
	SNOMEDShoulderMuscle   = "102288007" // Structure of skeletal muscle of shoulder (body structure)
	SNOMEDSupraspinatus    = "6423006"   // Supraspinatus muscle structure (body structure)
	SNOMEDInfraspinatus    = "72573008"  // Infraspinatus muscle structure (body structure)
	SNOMEDSubscapularis    = "90588001"  // Subscapularis muscle structure (body structure)
	SNOMEDExternalRotation = "52019005"  // External rotation, function (observable entity)
	SNOMEDInternalRotation = "12852001"  // Internal rotation, function (observable entity)
	SNOMEDAbduction        = "60074003"  // Abduction, function (observable entity)
)

// SNOMED CT: pain and handedness.
const (
	SNOMEDPainScore    = "225908003" // Pain score (observable entity)
	SNOMEDHandedness   = "57427004"  // Handedness
	SNOMEDRightHanded  = "46669005"  // Right handed (finding)
	SNOMEDLeftHanded   = "87683000"  // Left handed (finding)
	SNOMEDAmbidextrous = "23088002"  // Ambidextrous (finding)
)

// SNOMED CT: conditions of the shoulder.
const (
	SNOMEDRotatorCuffDisorder          = "414033006" // Disorder of rotator cuff (disorder)
	SNOMEDFullThicknessTear            = "202843000" // Full thickness rotator cuff tear (disorder)
	SNOMEDNontraumaticTear             = "424175006" // Nontraumatic rotator cuff tear (disorder)
	SNOMEDSupraspinatusTear            = "399346004" // Supraspinatus tear (disorder)
	SNOMEDCuffTendonInjury             = "307731004" // Injury of tendon of the rotator cuff of shoulder (disorder)
	SNOMEDCuffStrain                   = "789758005" // Strain of rotator cuff of shoulder (disorder)
	SNOMEDCuffTendonInflammation       = "442520000" // Inflammation of rotator cuff tendon (disorder)
	SNOMEDSupraspinatusTendinitis      = "202841003" // Supraspinatus tendinitis (disorder)
	SNOMEDRotatorCuffSyndrome          = "4106009"   // Rotator cuff syndrome (disorder)
	SNOMEDRotatorCuffImpingement       = "359532006" // Rotator cuff impingement syndrome (disorder)
	SNOMEDShoulderImpingement          = "239960007" // Impingement syndrome of shoulder region (disorder)
	SNOMEDSupraspinatusSyndrome        = "399259009" // Supraspinatus syndrome (disorder)
	SNOMEDCalcificTendinitis           = "27741009"  // Calcific tendinitis of shoulder (disorder)
	SNOMEDAdhesiveCapsulitis           = "399114005" // Adhesive capsulitis of shoulder (disorder)
	SNOMEDCuffTearArthropathy          = "415352004" // Rotator cuff tear arthropathy (disorder)
	SNOMEDSubacromialBursitis          = "40799003"  // Subacromial bursitis (disorder)
	SNOMEDRecurrentShoulderDislocation = "30556007"  // Recurrent dislocation of shoulder region (disorder)
	SNOMEDShoulderDislocation          = "417076003" // Dislocation of shoulder joint (disorder)
	SNOMEDShoulderUnstable             = "298854003" // Shoulder joint unstable (finding)
	SNOMEDShoulderPain                 = "45326000"  // Shoulder pain (finding)
	SNOMEDShoulderJointPain            = "267949000" // Shoulder joint pain (finding)
	SNOMEDShoulderStiff                = "249918006" // Shoulder stiff (finding)
)

// SNOMED CT: repairs of the rotator cuff.
const (
	SNOMEDCuffRepair               = "56060000"  // Repair of musculotendinous cuff of shoulder (procedure)
	SNOMEDCuffRepairBySuture       = "61774002"  // Repair of rotator cuff by suture (procedure)
	SNOMEDAcuteSupraspinatusRepair = "59213002"  // Repair of ruptured supraspinatus tendon, acute (procedure)
	SNOMEDLateSupraspinatusRepair  = "66692001"  // Repair of ruptured supraspinatus tendon, chronic (procedure)
	SNOMEDCuffAvulsionRepair       = "12660003"  // Repair of complete shoulder cuff avulsion, chronic (procedure)
	SNOMEDHistoryOfCuffRepair      = "428072000" // History of repair of musculotendinous cuff of shoulder (situation)
)

// SNOMED CT: exercise and plans.
const (
	SNOMEDExerciseTherapy       = "229065009" // Exercise therapy (regime/therapy)
	SNOMEDMuscleStrengthening   = "266741004" // Muscle strength exercise (regime/therapy)
	SNOMEDPassiveExercise       = "183311000" // Passive exercise (regime/therapy)
	SNOMEDStretching            = "229070002" // Stretching exercises (regime/therapy)
	SNOMEDEvaluation            = "386053000" // Evaluation procedure (procedure)
	SNOMEDActiveRangeAssessment = "710829000" // Assessment of active range of motion (procedure)
	SNOMEDCarePlan              = "734163000" // Care plan (record artifact)
	SNOMEDRehabilitationPlan    = "736055001" // Rehabilitation care plan (record artifact)
)

// ICF: the functions that are measured.
const (
	ICFJointMobility = "b7100" // Mobility of a single joint
	ICFMusclePower   = "b7300" // Power of isolated muscles and muscle groups
	ICFPain          = "b280"  // Sensation of pain
)

// The extensions that say what a result takes the place of.
const (
	ExtensionReplaces       = "http://hl7.org/fhir/StructureDefinition/observation-replaces"
	ExtensionReportReplaces = "http://hl7.org/fhir/StructureDefinition/diagnosticReport-replaces"
)

// The extensions on Observation.bodySite that carry a side.
const (
	ExtensionStructureLaterality = "http://hl7.org/fhir/StructureDefinition/observation-structureLaterality"
	ExtensionMCODELaterality     = "http://hl7.org/fhir/us/mcode/StructureDefinition/mcode-laterality-qualifier"
	ExtensionNictizLaterality    = "http://nictiz.nl/fhir/StructureDefinition/ext-AnatomicalLocation.Laterality"
	ExtensionSwissLaterality     = "http://fhir.ch/ig/ch-ems/StructureDefinition/ch-ems-ext-laterality"
)
