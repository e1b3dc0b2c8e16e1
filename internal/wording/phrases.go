package wording

// phrases are sentences and parts of sentences with numbered placeholders. The comment
// says what replaces each placeholder. Most are written as in the middle of a sentence,
// without capital and full stop, which Sentence adds where they stand alone.
type phrases struct {
	stop        string // ends a sentence
	listJoin    string // between the items of a list
	partJoin    string // between the parts of a sentence
	colon       string // between a label and a text
	labelled    string // {1} label, {2} text
	withReason  string // {1} text, {2} reason
	inPosition  string // {1} measurement, {2} at position
	rotationAt  string // {1} rotation, {2} at position
	sideValue   string // {1} side, {2} value
	ofSide      string // {1} measurement, {2} side
	fromTo      string // {1} and {2} numbers or quantities
	notMeasured string // instead of a value
	inDoubt     string // instead of a value
	noLimits    string // instead of the limits of an interval; fits 11

	// Criteria.
	judged           string // {1} finding, {2} verdict with its certainty
	judgement        string // {1} threshold, {2} verdict with its certainty
	asMeasured       string // {1} verdict, {2} certainty that leaves it open
	retained         string // {1} index, {2} certainty
	strength         string // {1} rotation at position, {2} needed, {3} on side, {4} measured, {5} index, {6} threshold
	strengthIndex    string // {1} rotation at position, {2} index, {3} threshold
	strengthMissing  string // {1} rotation at position
	changeMissing    string // {1} rotation at position, {2} on which side
	noYardstickAt    string // {1} rotation at position
	strengthGrade    string // {1} rotation at position, {2} grade
	evenOnce         string // {1} rotation at position, {2} index
	evenConfirmed    string // {1} rotation at position, {2} index
	pain             string // {1} at position, {2} score, {3} threshold
	painNoContext    string // {1} at position, {2} score, {3} threshold
	painMissing      string // {1} at position
	rangeNeeded      string // {1} movement, {2} needed, {3} on side, {4} measured
	rangeMissing     string // {1} movement, {2} needed, {3} on side
	rangeNotNeeded   string // {1} at position
	steady           string // {1} at position
	unsteady         string // {1} at position
	steadyMissing    string // {1} at position
	steadyNotNeeded  string // {1} at position
	repairNone       string
	repairWeeks      string // {1} time since the repair, {2} threshold
	repairUndated    string
	clearedEarly     string // {1} date of the clearance, {2} time since the repair, {3} threshold
	clearedUndated   string // {1} date of the clearance
	clearanceRefused string // {1} date
	refusedUndated   string
	loadWeeks        string // {1} what is to be permitted, {2} time since the repair, {3} threshold
	loadStated       string // {1} what is permitted, {2} date
	loadStatedLess   string // {1} what is asked for, {2} date
	doubtedStrength  string // {1} rotation at position
	tooFaint         string // {1} rotation at position
	changeSinceFirst string // {1} rotation at position, {2} change, {3} smallest detectable change
	wasEven          string // {1} index, {2} date
	usualIndex       string // {1} index
	comparisonHurts  string // {1} rotation at position, {2} index
	comparisonLow    string // the same
	notSupported     string // {1} rotation at position, {2} index
	allMeasured      string
	allMeasuredNot   string
	allEvenLikely    string // {1} probability, {2} threshold
	allEvenUnknown   string
	lowPain          string // {1} pain, {2} score, {3} threshold
	lowPainMissing   string // {1} pain, {2} threshold
	otherNotEven     string
	worstKnown       string
	worstMissing     string

	// Red flags, doubts and healing.
	incomplete     string
	slowLoss       string
	examine        string
	contactSurgeon string
	flagChange     string // {1} flag, {2} what, {3} number then, {4} date, {5} number now, {6} date
	flagNumber     string // {1} flag, {2} what, {3} number, {4} date, {5} limit
	flagGrade      string // {1} flag, {2} what, {3} grade, {4} date
	flagBeside     string // {1} flag, {2} what, {3} number, {4} date, {5} what, {6} number
	flagTooSoon    string // {1} flag, {2} date of the test, {3} days, {4} date of the repair, {5} threshold
	flagTests      string // {1} flag, {2} number of tests
	flagTogether   string // {1} flag, {2} number of tests, {3} mean fall
	flagGradeFall  string // {1} flag, {2} test and side, {3} grade, {4} date, {5} grade, {6} date
	weakElsewhere  string // {1} index of a motion, {2} its value, {3} date, {4} threshold
	conditionSince string // {1} date
	unexamined     string // {1} the flag with its numbers and dates
	strengthTooOld string // {1} date
	strengthFell   string // {1} how many tests, {2} date before, {3} date
	bothSidesFell  string // {1} test of a side, {2} strength then, {3} date, {4} strength now, {5} date
	rangesDisagree string // {1} range, {2} least, {3} most, {4} date
	passiveAsked   string // {1} active range, {2} how far, {3} date, {4} passive range
	gradeDiffers   string // {1} motion and position, {2} grade, {3} date, {4} index
	rangesDiffer   string // {1} active range, {2} how far, {3} date, {4} how far passively
	rangeFell      string // {1} range of a side, {2} range then, {3} date, {4} range now, {5} date
	steadinessLost string // {1} at a position, {2} date then, {3} date now
	comparisonLift string // {1} side, {2} active range, {3} how far, {4} date, {5} how far passively
	comparisonPain string // {1} side, {2} pain, {3} score, {4} date, {5} limit
	flagSince      string // {1} flag, {2} latest number, {3} date
	flagSameDay    string // the same
	flagNoBetter   string // the same
	flagTooEarly   string // the same, {4} the day from which a test counts
	flagExamined   string // {1} flag, {2} date
	doubtTrials    string // {1} doubt, {2} what, {3} date, {4} readings
	doubtApart     string // {1} doubt, {2} the reading that stands apart
	doubtSides     string // {1} doubt, {2} test, {3} date, {4} side and value, {5} side and value
	doubtUnit      string // {1} doubt, {2} number of tests, {3} date, {4} factor, {5} test, {6} value, {7} earlier value
	doubtDeclined  string // {1} doubt, {2} test and side, {3} value, {4} date, {5} value, {6} date, {7} fall
	healing        string // {1} kind of repair, {2} date, {3} weeks
	healingMassive string // {1} kind of repair, {2} date, {3} weeks
	healingUndated string // {1} kind of repair
	permittedNow   string // {1} phase
	permittedBy    string // {1} phase, {2} date of the statement
	oneWeek        string
	permitUndated  string // {1} phase, {2} date of the statement
	permitUnread   string // {1} phase
	permitTooEarly string // {1} phase, {2} date of the statement
	refusedOn      string // {1} date
	nextPhase      string // {1} phase, {2} date
	nextStated     string // {1} phase
	healingFoot    string // {1} date, {2} weeks, {3} phase
	healingSince   string // {1} date, {2} weeks
	healingFlag    string // {1} date, {2} weeks
	evenButWaits   string // decision: a sentence
	evenUnlikely   string // decision: a sentence
	noYardstick    string // decision: a sentence
	strengthenAt1  string // decision at a first visit: a sentence
	noYardstickAt1 string // decision at a first visit: a sentence
	noExerciseFlag string
	examineBy      string // {1} date
	dominantSide   string // {1} side, {2} adjusted index
	dominantNone   string // {1} side
	againstBest    string // {1} index, {2} date
	byMassBand     string // {1} low, {2} high

	// Steps.
	provisional    string
	painHolds      string
	fellClearly    string // {1} at position, {2} earlier index, {3} its date, {4} index now, {5} certainty
	fellTwice      string // {1} at position, {2} earlier index, {3} its date, {4} index now
	fellWeaker     string // {1} at position, {2} index, {3} date, {4} index
	directStops    string
	notYet         string // {1} step, {2} criterion
	notFree        string // {1} criterion
	beside         string // {1} positions
	recheck        string // {1} earliest, {2} latest
	recheckFall    string // {1} earliest, {2} latest
	recheckRange   string // {1} earliest, {2} latest
	recheckDoubt   string // {1} earliest, {2} latest
	doAtOnce       string // {1} requests, while a red flag holds
	measureFirst   string // {1} requests
	mostTelling    string
	ruleScale      string // {1} outcome measure, {2} least, {3} most
	ruleOutcome    string // {1} outcome measure, {2} smallest change
	ruleImportant  string // {1} outcome measure, {2} smallest change
	important      string // {1} smallest important change
	ofMost         string // {1} value, {2} most that it can be
	outcomeGate    string // {1} outcome measure, {2} value, {3} needed
	outcomeMissing string // {1} outcome measure
	demandHeld     string // {1} what it waits for
	demandMissing  string // {1} criteria
	demandWeeks    string

	// Measurements.
	indexOf       string // {1} rotation at position, {2} involved score, {3} comparison score, {4} index
	interval      string // {1} limits
	unbounded     string
	exclusive     string
	carried       string // {1} side, {2} date, {3} days
	dominance     string // {1} factor
	leverGuessed  string
	trialSingle   string // {1} side
	trialsFew     string // {1} side, {2} number of trials
	trialsVary    string // {1} side, {2} coefficient of variation
	trialApart    string // {1} side
	unlikeEarlier string // {1} side, {2} value, {3} form, {4} earlier value, {5} date, {6} form
	formUnstated  string
	alsoTested    string // {1} how it was tested, {2} involved score, {3} comparison score, {4} index
	pooled        string // {1} sessions, {2} index, {3} low, {4} high, {5} and {7} thresholds, {6} and {8} probabilities
	unpaired      string // {1} rotation at position, {2} date, {3} reason
	perMass       string // {1} involved, {2} comparison
	perMassOne    string // {1} involved
	ratio         string // {1} at position, {2} low and {3} high of the band, {4} sides
	ratioSide     string // {1} side, {2} ratio, {3} place
	indexSubject  string // {1} rotation at position
	rangeActive   string // {1} movement
	rangePassive  string // {1} movement
	rangeOn       string // {1} range, {2} date, {3} side and value
	rangeGate     string // {1} threshold
	measuredOn    string // {1} date
	nameValue     string // {1} what was measured, {2} value
	valueOn       string // {1} value, {2} date
	shoulderOf    string // {1} side, {2} what of it
	rangeAndPain  string // {1} values
	painOn        string // {1} pain, {2} date, {3} score
	change        string // {1} subject, {2} change in brief, {3} from and to
	changeBrief   string // {1} difference, {2} since, {3} smallest that counts, {4} direction
	detectable    string // {1} minimal detectable change
	matters       string // {1} smallest change that matters
	since         string // {1} date
	sinceFirst    string // {1} date
	trend         string // {1} rotation at position, {2} sessions, {3} prospect
	forecast      string // {1} date, {2} earliest, {3} latest
	forecastSoon  string // {1} first day of the re-check
	levelling     string // {1} index, {2} low, {3} high

	// Chart.
	chartNote       string // {1} confidence of the interval
	chartTogether   string // {1} confidence of the intervals
	chartUnbounded  string
	chartForecast   string
	chartLevel      string
	chartEven       string // {1} threshold
	chartGoodEnough string // {1} threshold
	chartPoint      string // {1} date, {2} index, {3} interval

	// Progress note.
	measureIn     string // {1} what is measured, {2} unit
	indexIn       string // {1} position, {2} unit
	firstMeasured string // fits 12

	// Plan.
	noExercise     string
	exerciseGoesOn string // {1} exercise; it may be the first visit
	exerciseRange  string // {1} movement
	doseSource     string // {1} citation
	targetIndex    string // {1} threshold, {2} at position
	targetRange    string // {1} movement, {2} threshold
	targetPain     string // {1} threshold
	targetIndexes  string // {1} threshold, {2} present values by position
	now            string // {1} present value
	present        string // {1} at position, {2} present value
	goalShort      string // {1} aim, {2} by when, {3} value to reach, {4} present values
	visits         string // {1} number, {2} days
	visitsMore     string // {1} number, {2} first days, {3} number of those left out, {4} last days
	noteCaution    string
	signHere       string // {1} is room to write
	goal           string // {1} aim, {2} targets, {3} by when, {4} achievement
	by             string // {1} date
	noDue          string

	// Report.
	asOf         string // {1} date
	foot         string // {1} title, {2} as of, {3} page, {4} pages
	sides        string // {1} involved side, {2} comparison side
	protocol     string // {1} id, {2} version
	irritability string // {1} level
	atVisit      string
	atOnce       string // while a red flag holds
	painBetter   string // instead of a direction
	painWorse    string // instead of a direction
	inputClean   string
	issueAt      string // {1} what is wrong, {2} places
	issueMore    string // {1} places, {2} number of further ones

	// Summary.
	person         string // {1} name or record number, {2} date of birth
	visit          string // {1} date, {2} involved side
	more           string // {1} items, {2} number of further ones
	otherCauses    string // {1} cause, {2} number of further ones
	otherRequests  string // {1} request, {2} number of further ones
	moreAlarms     string // {1} number of further alarms
	warnedBelow    string // {1} number of warnings, none of which is said yet
	alarmsNamed    string // {1} names of alarms
	held           string // {1} rotation and step, {2} next step, {3} what holds it
	heldIndex      string // {1} threshold
	heldConfirm    string
	heldMissing    string
	heldSecond     string
	heldDecision   string
	heldDoubt      string
	heldFaint      string
	heldGrade      string
	heldChange     string
	heldHealing    string
	heldPermit     string
	heldPain       string
	heldAnyPain    string // pain of which nobody recorded when it was felt
	heldRange      string
	heldRangeTest  string // {1} active range of a movement
	heldSession    string
	heldUsual      string
	heldPainless   string
	heldLift       string
	heldAllEven    string // {1} threshold
	unchanged      string
	allLower       string // {1} number of tests
	betterCount    string // {1} number of values
	better         string // {1} what changed
	worse          string // {1} what changed
	maybeWorse     string // {1} what changed
	maybeBetter    string // {1} what changed
	span           string // {1} and {2} numbers
	bothRotations  string
	ofNeeded       string // {1} movement, {2} measured, {3} needed
	valueAt        string // {1} value, {2} position
	sinceLastTest  string
	sinceFirstTest string
	nothingChanged string
	evenInAll      string
	evenBy         string // {1} date, {2} earliest, {3} latest
	evenSoon       string // {1} first day of the re-check
	evenProbably   string
	notLikely      string
	evenNoDate     string // {1} why
	noCourse       string
	pageBasis      string // {1} as of, {2} protocol, {3} version
	fullReport     string
	cautionsBrief  string // sentences
	times          string // {1} issue, {2} how often
	moreIssues     string // {1} number of further ones
	strengthOf     string // {1} test
	gradeOf        string // {1} test
	steadinessOf   string // {1} at position
	loadStatement  string
	procedure      string
	ofDate         string // {1} measurement, {2} date
	marked         string // {1} difference beyond measurement error
	markMeans      string
	indexMeans     string
	passiveToo     string // {1} passive range, {2} its value
	passiveMore    string // {1} passive range, {2} its value
	strengthTested string // {1} date
	sideTested     string // {1} on the side, {2} date

	// Rules and their sources.
	cited      string // {1} statement, {2} citation
	ruleGrade  string // {1} threshold
	ruleIndex  string // {1} how trials become a score
	ruleError  string // {1} standard error of measurement, {2} condition
	ruleLimits string // {1} confidence
	ruleChange string // {1} confidence
	// {1} and {2} probabilities; {3} clearly met, {4} probably met, {5} probably not, {6} clearly
	// not, {7} not clear yet
	ruleCertainty string
	ruleConfirm   string // {1} earliest, {2} latest, {3} probability
	ruleTrials    string // {1} share of the variance, {2} number of trials, {3} least standard error
	ruleFlag      string // {1} flag, {2} threshold
	ruleDoubt     string // {1} doubt
	ruleLatest    string
	rulePhase     string // {1} phase, {2} threshold
	rulePooled    string // {1} plateau
	ruleTrend     string // {1} probability, {2} horizon
	ruleRange     string // {1} same examiner, {2} different ones
	rulePain      string // {1} threshold
	ruleBand      string // {1} position
}
