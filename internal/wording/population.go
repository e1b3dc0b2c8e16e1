package wording

import (
	"strconv"
	"strings"
)

// Population is the texts of the pages about all patients of an export. {1} and {2} are
// gaps, which Fill fills.
type Population struct {
	Title, Clinic   string
	AsOf            string // {1} is a day
	About           string
	SmallCells      string
	NoRanking       string
	ForClinic       string
	Read            string // heading
	Lines           string // {1} read, {2} used, {3} about something else, {4} rejected
	Unread          string // {1} lines that could not be read; whose some are is not known
	Patients        string // {1} assessed, {2} refused, {3} without a shoulder
	Incomplete      string // {1} patients with a line that could not be read
	Reason          string
	Count           string // of patients, as a column head
	Few             string // stands for a small number
	Status          string // heading
	Flags           string // heading
	Rechecks        string // heading
	Later           string
	Due             string
	Overdue         string
	NotFollowed     string
	Progress        string // heading
	Shown           string
	NotShown        string
	TooShort        string
	ProgressNote    string
	Curves          string // heading
	CurvesCaveat    string
	CurvesKey       string
	SinceFirst      string
	SinceRepair     string // {1} is the kind of repair
	Week            string
	Index           string
	Number          string // n, above a row of numbers
	Ready           string // heading
	ReadyCaveat     string
	ReadyKey        string
	ReadyShare      string
	AtRisk          string
	Median          string // {1} is a week
	NoMedian        string
	SeenReady       string // {1} of {2} patients
	Error           string // heading
	ErrorNote       string
	Involved        string
	Comparison      string
	Pairs           string
	Deviation       string
	Limits          string
	Devices         string // heading
	DevicesNote     string
	Device          string // {1} is a device
	Difference      string
	NothingHere     string
	Examine         string // heading of a list
	NoProgress      string // heading of a list
	Missing         string // heading of a list
	Refused         string // heading of a list
	Patient         string // column head
	LastVisit       string
	From            string
	To              string
	What            string
	Likely          string
	HowWorkedOut    string // heading
	HowPercentile   string
	HowSurvival     string
	HowProtocols    string // {1} software, {2} protocols
	ProbabilityHint string
}

// populations are the texts by language.
var populations = map[string]*Population{"en": &englishPopulation, "de": &germanPopulation, "fr": &frenchPopulation}

// Population is the texts of the pages about all patients.
func (c *Catalogue) Population() *Population {
	if p := populations[c.language]; p != nil {
		return p
	}
	return &englishPopulation
}

// Fill puts values into the gaps of one of these texts.
func (c *Catalogue) Fill(text string, values ...string) string { return c.fill(text, values...) }

// Decimal writes a number to so many decimal places, with the language's decimal sign.
func (c *Catalogue) Decimal(x float64, places int) string {
	return c.localised(strings.Replace(strconv.FormatFloat(x, 'f', places, 64), "-0.0", "0.0", 1))
}

var englishPopulation = Population{
	Title: "All shoulders of an export", Clinic: "Patients to look at",
	AsOf:         "As of {1}, the day of the latest visit unless another was asked for.",
	About:        "What is computed for each patient by the same rules as for one alone, put together. It supports the judgement of licensed clinicians and never replaces it.",
	SmallCells:   "Numbers of fewer than ten patients are not shown.",
	NoRanking:    "This page compares no therapists and no clinics, and must not be used to: who treats whom is not by chance.",
	ForClinic:    "For the clinic alone: this page names patients, by their record numbers or by digests that the key of the clinic leads back to them.",
	Read:         "What was read",
	Lines:        "{1} lines: {2} used, {3} about something else, {4} rejected. The folder rejected has the place and the reason of each.",
	Unread:       "{1} lines could not be read at all. If it can be told whose such a line is, nothing is opened for that patient; if not, it may be anybody's.",
	Patients:     "{1} patients assessed, {2} refused, {3} without any measurement of a shoulder.",
	Incomplete:   "{1} of the assessed patients have a line that could not be read.",
	Reason:       "Reason",
	Count:        "Patients",
	Few:          "few",
	Status:       "Where they stand",
	Flags:        "Red flags that hold",
	Rechecks:     "Re-checks",
	Later:        "not due yet",
	Due:          "due now",
	Overdue:      "overdue",
	NotFollowed:  "overdue by more than half a year",
	Progress:     "Progress",
	Shown:        "strength rose since the first visit",
	NotShown:     "no rise is shown",
	TooShort:     "not followed long enough, or ready",
	ProgressNote: "By the model of the course, over all visits of a patient and not by two of them: a rise is shown if it is probable enough in at least one test. Who was seen at least three times over at least six weeks is asked about.",
	Curves:       "Recovery curves",
	CurvesCaveat: "What the curves do not show: visits are not at random times, and those who still come are not all who came. Who feels well stays away, and so does who gave up; each week has other patients. A curve is no forecast for one patient.",
	CurvesKey:    "Limb symmetry index in per cent by weeks: thick line, the median; thin broken lines, 10th and 90th percentile. Small numbers below: patients in that week.",
	SinceFirst:   "Weeks since the first visit, without a repair",
	SinceRepair:  "Weeks since the repair: {1}",
	Week:         "week", Index: "index, %", Number: "n",
	Ready:       "Time until ready for functional work",
	ReadyCaveat: "What these curves do not show: readiness is seen only at a visit, so it came earlier than drawn. Who does not come any more counts as not observed any further, discharged or not, as if they were like those who stay.",
	ReadyKey:    "Full line: share found ready, by the week of the visit at which it was seen (Kaplan and Meier); grey: its 95 % band, for each week by itself. Dots: the share when it may have come at any time between two visits (Turnbull). Below: patients still followed and not yet ready.",
	ReadyShare:  "ready, %", AtRisk: "followed",
	Median:    "Half were found ready by week {1}.",
	NoMedian:  "Half were not found ready while at least ten were followed.",
	SeenReady: "{1} of {2} patients were found ready.",
	Error:     "Measurement error from planned re-tests",
	ErrorNote: "From pairs of visits at most seven days apart of which the second is marked as a planned re-test. Ordinary re-checks never count. Standard deviation of one measurement in per cent of the strength, with its 95 % limits; both sides of a patient are two rows, because they are not independent.",
	Involved:  "involved side", Comparison: "comparison side", Pairs: "Pairs", Deviation: "Standard deviation, %", Limits: "95 % limits",
	Devices:     "Instruments",
	DevicesNote: "A hint, no finding: the mean strength of comparison sides by month, against the instrument's own mean. Broken lines: three standard errors. A month outside (square) asks for a calibration; other patients in that month can do the same.",
	Device:      "Instrument {1}", Difference: "difference, %",
	NothingHere: "Nothing to show.",
	Examine:     "Red flags: examine first", NoProgress: "No progress shown", Missing: "Measurements missing", Refused: "Refused",
	Patient: "Patient", LastVisit: "Last visit", From: "From", To: "To", What: "What", Likely: "Probability of a rise",
	HowWorkedOut:    "How this was worked out",
	HowPercentile:   "Percentiles: linear interpolation (Hyndman and Fan 1996, definition 7). One value a patient and week, the first.",
	HowSurvival:     "Share ready: Kaplan and Meier 1958 with the log-log band; Turnbull 1976. Standard deviations: root of half the mean square of the differences (Bland and Altman 1996), limits by chi-square. Control limits: Shewhart 1931.",
	HowProtocols:    "Software {1}; protocol {2}.",
	ProbabilityHint: "The largest, over the tests that decide, that the true strength rose.",
}

var germanPopulation = Population{
	Title: "Alle Schultern eines Exports", Clinic: "Patienten, nach denen zu sehen ist",
	AsOf:         "Stand {1}, der Tag des letzten Besuchs, wenn kein anderer verlangt war.",
	About:        "Was für jeden Patienten nach denselben Regeln wie für einen allein berechnet ist, zusammengenommen. Es stützt das Urteil von Fachleuten und ersetzt es nie.",
	SmallCells:   "Zahlen unter zehn Patienten werden nicht gezeigt.",
	NoRanking:    "Diese Seite vergleicht weder Therapeuten noch Praxen und darf nicht dazu dienen: Wer wen behandelt, ist kein Zufall.",
	ForClinic:    "Nur für die Praxis: Diese Seite nennt Patienten, mit ihrer Nummer in der Akte oder mit einem Schlüsselwert, den der Schlüssel der Praxis auf sie zurückführt.",
	Read:         "Was gelesen wurde",
	Lines:        "{1} Zeilen: {2} verwendet, {3} über anderes, {4} abgewiesen. Der Ordner rejected nennt zu jeder Ort und Grund.",
	Unread:       "{1} Zeilen waren gar nicht zu lesen. Ist erkennbar, wessen Zeile es ist, wird für diesen Patienten nichts freigegeben; sonst kann sie jedem gehören.",
	Patients:     "{1} Patienten beurteilt, {2} abgewiesen, {3} ohne jede Messung einer Schulter.",
	Incomplete:   "Zu {1} der beurteilten Patienten gibt es eine Zeile, die nicht zu lesen war.",
	Reason:       "Grund",
	Count:        "Patienten",
	Few:          "wenige",
	Status:       "Wo sie stehen",
	Flags:        "Warnzeichen, die gelten",
	Rechecks:     "Kontrollen",
	Later:        "noch nicht fällig",
	Due:          "jetzt fällig",
	Overdue:      "überfällig",
	NotFollowed:  "seit mehr als einem halben Jahr überfällig",
	Progress:     "Fortschritt",
	Shown:        "Kraft seit dem ersten Besuch gestiegen",
	NotShown:     "kein Anstieg gezeigt",
	TooShort:     "nicht lange genug beobachtet, oder bereit",
	ProgressNote: "Nach dem Modell des Verlaufs, über alle Besuche eines Patienten und nicht über zwei: Ein Anstieg ist gezeigt, wenn er in mindestens einem Test wahrscheinlich genug ist. Gefragt wird, wer mindestens dreimal über mindestens sechs Wochen da war.",
	Curves:       "Verlaufskurven",
	CurvesCaveat: "Was die Kurven nicht zeigen: Besuche liegen nicht zu zufälligen Zeiten, und wer noch kommt, ist nicht jeder, der kam. Wem es gut geht, der bleibt weg, und wer aufgegeben hat, auch; jede Woche hat andere Patienten. Eine Kurve sagt für den Einzelnen nichts voraus.",
	CurvesKey:    "Symmetrieindex in Prozent nach Wochen: dicke Linie, der Median; dünne gestrichelte Linien, 10. und 90. Perzentil. Kleine Zahlen darunter: Patienten in der Woche.",
	SinceFirst:   "Wochen seit dem ersten Besuch, ohne Naht",
	SinceRepair:  "Wochen seit der Operation: {1}",
	Week:         "Woche", Index: "Index, %", Number: "n",
	Ready:       "Zeit bis zur Bereitschaft für funktionelles Training",
	ReadyCaveat: "Was diese Kurven nicht zeigen: Bereitschaft sieht man nur bei einem Besuch; sie kam also früher als gezeichnet. Wer nicht mehr kommt, gilt als nicht weiter beobachtet, entlassen oder nicht, als wäre er wie die, die bleiben.",
	ReadyKey:    "Durchgezogen: Anteil der Bereiten nach der Woche des Besuchs, bei dem es sich zeigte (Kaplan und Meier); grau: sein 95-%-Band, für jede Woche für sich. Punkte: der Anteil, wenn es jederzeit zwischen zwei Besuchen gekommen sein kann (Turnbull). Darunter: noch beobachtete, noch nicht bereite Patienten.",
	ReadyShare:  "bereit, %", AtRisk: "beobachtet",
	Median:    "Die Hälfte war bis Woche {1} bereit.",
	NoMedian:  "Die Hälfte war nicht bereit, solange mindestens zehn beobachtet wurden.",
	SeenReady: "{1} von {2} Patienten waren bereit.",
	Error:     "Messfehler aus geplanten Wiederholungen",
	ErrorNote: "Aus Paaren von Besuchen, die höchstens sieben Tage auseinanderliegen und deren zweiter als geplante Wiederholung gekennzeichnet ist. Gewöhnliche Kontrollen zählen nie. Standardabweichung einer Messung in Prozent der Kraft, mit 95-%-Grenzen; beide Seiten eines Patienten sind zwei Zeilen, denn sie sind nicht unabhängig.",
	Involved:  "betroffene Seite", Comparison: "Vergleichsseite", Pairs: "Paare", Deviation: "Standardabweichung, %", Limits: "95-%-Grenzen",
	Devices:     "Messgeräte",
	DevicesNote: "Ein Hinweis, kein Befund: mittlere Kraft der Vergleichsseiten nach Monaten, gegen das eigene Mittel des Geräts. Gestrichelt: drei Standardfehler. Ein Monat außerhalb (Quadrat) verlangt eine Kalibrierung; andere Patienten in dem Monat können dasselbe bewirken.",
	Device:      "Gerät {1}", Difference: "Unterschied, %",
	NothingHere: "Nichts zu zeigen.",
	Examine:     "Warnzeichen: zuerst untersuchen", NoProgress: "Kein Fortschritt gezeigt", Missing: "Fehlende Messungen", Refused: "Abgewiesen",
	Patient: "Patient", LastVisit: "Letzter Besuch", From: "Von", To: "Bis", What: "Was", Likely: "Wahrscheinlichkeit eines Anstiegs",
	HowWorkedOut:    "Wie es berechnet ist",
	HowPercentile:   "Perzentile: lineare Interpolation (Hyndman und Fan 1996, Definition 7). Ein Wert je Patient und Woche, der erste.",
	HowSurvival:     "Anteil der Bereiten: Kaplan und Meier 1958 mit dem Log-log-Band; Turnbull 1976. Standardabweichungen: Wurzel aus dem halben mittleren Quadrat der Unterschiede (Bland und Altman 1996), Grenzen nach Chi-Quadrat. Kontrollgrenzen: Shewhart 1931.",
	HowProtocols:    "Software {1}; Protokoll {2}.",
	ProbabilityHint: "Die größte über die entscheidenden Tests, dass die wahre Kraft gestiegen ist.",
}

var frenchPopulation = Population{
	Title: "Toutes les épaules d'un export", Clinic: "Patients à revoir",
	AsOf:         "État au {1}, le jour de la dernière visite sauf autre demande.",
	About:        "Ce qui est calculé pour chaque patient selon les mêmes règles que pour un seul, mis ensemble. Cela appuie le jugement des professionnels et ne le remplace jamais.",
	SmallCells:   "Les nombres de moins de dix patients ne sont pas montrés.",
	NoRanking:    "Cette page ne compare ni thérapeutes ni cliniques et ne doit pas y servir : qui soigne qui n'est pas un hasard.",
	ForClinic:    "Pour la clinique seule : cette page nomme des patients, par leur numéro de dossier ou par une empreinte que la clé de la clinique ramène à eux.",
	Read:         "Ce qui a été lu",
	Lines:        "{1} lignes : {2} utilisées, {3} sur autre chose, {4} rejetées. Le dossier rejected donne la place et la raison de chacune.",
	Unread:       "{1} lignes n'ont pas pu être lues. Si l'on sait à qui est une telle ligne, rien n'est ouvert pour ce patient ; sinon elle peut être à n'importe qui.",
	Patients:     "{1} patients évalués, {2} refusés, {3} sans aucune mesure d'une épaule.",
	Incomplete:   "{1} des patients évalués ont une ligne qui n'a pas pu être lue.",
	Reason:       "Raison",
	Count:        "Nombre de patients",
	Few:          "peu",
	Status:       "Où ils en sont",
	Flags:        "Signes d'alerte en vigueur",
	Rechecks:     "Contrôles",
	Later:        "pas encore dus",
	Due:          "dus maintenant",
	Overdue:      "en retard",
	NotFollowed:  "en retard de plus de six mois",
	Progress:     "Progrès",
	Shown:        "force en hausse depuis la première visite",
	NotShown:     "aucune hausse montrée",
	TooShort:     "pas suivis assez longtemps, ou prêts",
	ProgressNote: "Selon le modèle de l'évolution, sur toutes les visites d'un patient et non sur deux : une hausse est montrée si elle est assez probable dans au moins un test. On l'examine chez qui est venu au moins trois fois en au moins six semaines.",
	Curves:       "Courbes de récupération",
	CurvesCaveat: "Ce que les courbes ne montrent pas : les visites ne tombent pas au hasard, et ceux qui viennent encore ne sont pas tous ceux qui sont venus. Qui va bien ne vient plus, qui a renoncé non plus ; chaque semaine a d'autres patients. Une courbe ne prédit rien pour un patient.",
	CurvesKey:    "Indice de symétrie en pour cent par semaine : trait épais, la médiane ; traits fins brisés, 10e et 90e percentiles. Petits nombres dessous : patients de la semaine.",
	SinceFirst:   "Semaines depuis la première visite, sans réparation",
	SinceRepair:  "Semaines depuis la réparation : {1}",
	Week:         "semaine", Index: "indice, %", Number: "n ",
	Ready:       "Temps jusqu'au travail fonctionnel",
	ReadyCaveat: "Ce que ces courbes ne montrent pas : on ne voit qu'à une visite que l'épaule est prête ; elle l'était donc plus tôt. Qui ne vient plus compte comme non observé au-delà, sorti ou non, comme s'il ressemblait à ceux qui restent.",
	ReadyKey:    "Trait plein : part des épaules prêtes, selon la semaine de la visite (Kaplan et Meier) ; gris : sa bande à 95 %, pour chaque semaine seule. Points : la part si cela a pu venir à tout moment entre deux visites (Turnbull). Dessous : patients encore suivis et pas encore prêts.",
	ReadyShare:  "prêts, %", AtRisk: "suivis",
	Median:    "La moitié étaient prêts à la semaine {1}.",
	NoMedian:  "La moitié n'étaient pas prêts tant qu'au moins dix étaient suivis.",
	SeenReady: "{1} patients sur {2} ont été trouvés prêts.",
	Error:     "Erreur de mesure d'après les tests répétés",
	ErrorNote: "D'après les paires de visites à sept jours d'écart au plus, dont la seconde est marquée comme répétition prévue. Les contrôles ordinaires ne comptent jamais. Écart type d'une mesure en pour cent de la force, avec ses limites à 95 % ; les deux côtés d'un patient font deux lignes, car ils ne sont pas indépendants.",
	Involved:  "côté atteint", Comparison: "côté de comparaison", Pairs: "Paires", Deviation: "Écart type, %", Limits: "Limites à 95 %",
	Devices:     "Appareils",
	DevicesNote: "Un indice, pas un constat : force moyenne des côtés de comparaison par mois, face à la moyenne de l'appareil. Traits brisés : trois erreurs types. Un mois au-dehors (carré) demande un étalonnage ; d'autres patients ce mois-là peuvent faire de même.",
	Device:      "Appareil {1}", Difference: "écart, %",
	NothingHere: "Rien à montrer.",
	Examine:     "Signes d'alerte : examiner d'abord", NoProgress: "Aucun progrès montré", Missing: "Mesures manquantes", Refused: "Refusés",
	Patient: "Patient ou patiente", LastVisit: "Dernière visite", From: "Du", To: "Au", What: "Quoi", Likely: "Probabilité d'une hausse",
	HowWorkedOut:    "Comment c'est calculé",
	HowPercentile:   "Percentiles : interpolation linéaire (Hyndman et Fan 1996, définition 7). Une valeur par patient et par semaine, la première.",
	HowSurvival:     "Part des épaules prêtes : Kaplan et Meier 1958 avec la bande log-log ; Turnbull 1976. Écarts types : racine de la moitié du carré moyen des différences (Bland et Altman 1996), limites par le khi-deux. Limites de contrôle : Shewhart 1931.",
	HowProtocols:    "Logiciel {1} ; protocole {2}.",
	ProbabilityHint: "La plus grande, sur les tests qui décident, que la force vraie ait augmenté.",
}
