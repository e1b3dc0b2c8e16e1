package report

import (
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"
	"testing"

	"evenreach.example/internal/assess"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/report/chart"
	"evenreach.example/internal/report/typeset"
	"evenreach.example/internal/shoulder"
	"evenreach.example/internal/wording"
	"evenreach.example/internal/wording/wordingtest"
)

// textForms are the forms for a terminal.
func textForms(s story, w *wording.Catalogue) map[string]string {
	a := s.assess()
	return map[string]string{
		"text": Text(a, s.issues, w), "full text": FullText(a, s.issues, w), "patient": Patient(a, w), "home": Home(a, w), "progress note": ProgressNote(a, s.issues, w),
	}
}

// divs are the narratives.
func divs(s story, w *wording.Catalogue) map[string]string {
	a := s.assess()
	return map[string]string{
		"narrative": New(a, s.issues, w).Narrative(), "plan narrative": New(a, nil, w).PlanNarrative(),
	}
}

// documents are the printed forms.
func documents(t *testing.T, s story, w *wording.Catalogue) map[string][]byte {
	t.Helper()
	a := s.assess()
	written := map[string][]byte{}
	for form, write := range map[string]func() ([]byte, error){
		"pdf":               func() ([]byte, error) { return PDF(a, s.issues, w, typeset.A4) },
		"full pdf":          func() ([]byte, error) { return FullPDF(a, s.issues, w, typeset.A4) },
		"patient pdf":       func() ([]byte, error) { return PatientPDF(a, w, typeset.A4) },
		"home pdf":          func() ([]byte, error) { return HomePDF(a, w, typeset.A4) },
		"progress note pdf": func() ([]byte, error) { return ProgressNotePDF(a, s.issues, w, typeset.A4) },
	} {
		document, err := write()
		if err != nil {
			t.Fatal(err)
		}
		written[form] = document
	}
	return written
}

// forms is every form as a reader reads it, in words between single spaces.
func forms(t *testing.T, s story, w *wording.Catalogue) map[string]string {
	t.Helper()
	key := w.Language() + s.name
	if all, ok := read[key]; ok {
		return all
	}
	all := map[string]string{"conclusion": spaced(New(s.assess(), s.issues, w).Conclusion())}
	for form, text := range textForms(s, w) {
		all[form] = spaced(text)
	}
	for form, div := range divs(s, w) {
		all[form] = spaced(plain(t, div))
	}
	for form, document := range documents(t, s, w) {
		lines, _ := linesOf(t, document)
		lines, _ = withoutChart(lines, chart.Of(s.assess(), w))
		all[form] = spaced(strings.Join(lines, " "))
	}
	read[key] = all
	return all
}

// read keeps the forms of a story, because documents take time.
var read = map[string]map[string]string{}

// everywhere calls check for every story, form and language.
func everywhere(t *testing.T, check func(t *testing.T, s story, form, text string, w *wording.Catalogue)) {
	t.Helper()
	for _, language := range wording.Languages() {
		for _, s := range allStories() {
			t.Run(language+"/"+s.name, func(t *testing.T) {
				w := wording.For(language)
				for form, text := range forms(t, s, w) {
					check(t, s, form, text, w)
				}
			})
		}
	}
}

// Nothing is told by a code, an unfilled gap, or a broken sentence.
func TestPlainLanguage(t *testing.T) {
	broken := regexp.MustCompile(`\{|\}|%!|\(\)|\.\.|: \.|; \.|, \.| ,|[a-z]+-90\b|arm-at-side|<nil>|NaN|Inf\b`)
	everywhere(t, func(t *testing.T, s story, form, text string, _ *wording.Catalogue) {
		if found := broken.FindString(text); found != "" {
			t.Errorf("%s: %q in\n%s", form, found, text)
		}
	})
}

// forPatients are the forms that the patient reads.
func forPatients(form string) bool {
	return strings.HasPrefix(form, "patient") || strings.HasPrefix(form, "home")
}

func TestDecisionComesFirst(t *testing.T) {
	everywhere(t, func(t *testing.T, s story, form, text string, w *wording.Catalogue) {
		a := s.assess()
		alarms := w.Alarms(a.Readiness, a.Plan)
		for _, alarm := range alarms {
			if !forPatients(form) && !strings.Contains(text, alarm) {
				t.Errorf("%s: does not say %q", form, alarm)
			}
		}
		if form != "conclusion" {
			alarms = New(a, s.issues, w).first.alarms // which are as many as there is room for
		}
		first := append(alarms, w.Decision(a.Readiness))
		if forPatients(form) {
			first = append(w.Plain().Alarms(a.Readiness), w.Plain().Decision(a.Readiness))
		}
		from := 0
		for _, sentence := range first {
			at := strings.Index(text[from:], sentence)
			if at < 0 || at > 250 {
				t.Errorf("%s: %q at %d behind what goes before it", form, sentence, at)
				return
			}
			from += at + len(sentence)
		}
	})
}

// A language tells the same numbers as English, each as often.
func TestAllLanguagesHoldTheSameNumbers(t *testing.T) {
	for _, language := range wording.Languages()[1:] {
		for _, s := range allStories() {
			original, translated := forms(t, s, words()), forms(t, s, wording.For(language))
			for _, form := range slices.Sorted(maps.Keys(original)) {
				want, got := numbers(original[form]), numbers(translated[form])
				if strings.HasSuffix(form, "pdf") { // heads of tables are repeated on new pages
					want, got = slices.Compact(want), slices.Compact(got)
				}
				if !slices.Equal(want, got) {
					t.Errorf("%s, %s, %s: numbers differ: %v", language, s.name, form, difference(want, got))
				}
			}
		}
	}
}

var (
	decimalComma = regexp.MustCompile(`(\d),(\d)`)
	europeanDay  = regexp.MustCompile(`(\d\d)[./](\d\d)[./](\d{4})`)
)

// numbers are the numbers of a text, sorted, with decimal points and with the days of
// every language in one form.
func numbers(text string) []string {
	text = europeanDay.ReplaceAllString(text, "$3-$2-$1")
	return slices.Sorted(slices.Values(numeral.FindAllString(decimalComma.ReplaceAllString(text, "$1.$2"), -1)))
}

func difference(a, b []string) (only []string) {
	for _, pair := range [...][2][]string{{a, b}, {b, a}} {
		rest := slices.Clone(pair[1])
		for _, x := range pair[0] {
			if i := slices.Index(rest, x); i >= 0 {
				rest = slices.Delete(rest, i, i+1)
				continue
			}
			only = append(only, x)
		}
	}
	return only
}

// No form of another language holds an English word.
func TestNoEnglishInOtherLanguages(t *testing.T) {
	everywhere(t, func(t *testing.T, _ story, form, text string, w *wording.Catalogue) {
		if found := wordingtest.English(text); found != "" && w.Language() != "en" {
			t.Errorf("%s: the word %q in\n%s", form, found, text)
		}
	})
}

// What the patient and the payer read holds no number that the report does not
// hold, but 100 %, and in the note the changes of the indices and the strengths
// as they were measured.
func TestShorterFormsHoldNoOtherNumbers(t *testing.T) {
	for _, s := range allStories() {
		a, all := s.assess(), forms(t, s, words())
		known := numbers(all["full text"])
		changes := ""
		for i := range a.Measurements.Changes {
			changes += words().Change(&a.Measurements.Changes[i], a.Protocol.Symmetry.GoodEnough, a.Protocol.Symmetry.Even)
		}
		for i := range a.Measurements.Scores { // a force that was compared as a torque
			changes += " " + words().StrengthFigure(&a.Measurements.Scores[i])
		}
		for form, text := range all {
			allowed := known
			switch {
			case strings.HasPrefix(form, "home"):
				allowed = append(slices.Clone(known), numbersAtHome(a)...)
			case forPatients(form):
				allowed = append(slices.Concat(known, numbersNotNamed(a)), "100")
			case strings.HasPrefix(form, "progress note"):
				allowed = slices.Concat(known, numbers(changes), numbersOfCourse(a))
			}
			if form == "pdf" || form == "full pdf" || form == "patient pdf" {
				continue // with the axis of the chart; see TestPDFSaysWhatTheTextSays
			}
			for _, n := range numbers(text) {
				if !slices.Contains(allowed, n) {
					t.Errorf("%s, %s: holds %s, the text does not", s.name, form, n)
				}
			}
		}
	}
}

// numbersOfCourse are the days of all visits and how many they are, and every index: one
// of them is the best.
func numbersOfCourse(a *assess.Assessment) []string {
	text := fmt.Sprint(len(a.Episode.Sessions), " ", max(0, len(a.Episode.Sessions)-12))
	for i := range a.Episode.Sessions {
		text += " " + words().Date(a.Episode.Sessions[i].When)
	}
	for i := range a.Measurements.Symmetries {
		text += " " + words().Index(a.Measurements.Symmetries[i].Index, a.Protocol.Symmetry.GoodEnough, a.Protocol.Symmetry.Even)
	}
	for _, r := range a.Measurements.Ranges {
		text += " " + words().RangeFigure(&r)
	}
	for _, p := range a.Measurements.Pains {
		text += " " + words().PainFigure(&p)
	}
	for i := range a.Measurements.Outcomes {
		text += " " + words().OutcomeFigure(&a.Measurements.Outcomes[i])
	}
	return numbers(text)
}

// numbersNotNamed are how many clear changes since the first test the patient's page only
// counts, because it names two: of those that got better, and of those that got worse.
func numbersNotNamed(a *assess.Assessment) (counts []string) {
	type subject struct {
		of       measure.Subject
		setting  measure.Setting
		movement shoulder.Movement
		outcome  *protocol.OutcomeMeasure
	}
	for _, d := range [...]measure.Direction{measure.Improved, measure.Declined} {
		changed := map[subject]bool{}
		for i := range a.Measurements.Changes {
			k := &a.Measurements.Changes[i]
			if k.Against == measure.Baseline && k.Direction == d && k.Subject != measure.SymmetryChange && k.Side == a.Episode.Involved {
				changed[subject{k.Subject, k.Setting, k.Movement, k.Outcome}] = true
			}
		}
		if len(changed) > 2 {
			counts = append(counts, fmt.Sprint(len(changed)-2))
		}
	}
	return counts
}

// numbersAtHome are those of the doses, of the loads, which TestLoadByHand checks, and of
// the diary.
func numbersAtHome(a *assess.Assessment) []string {
	text := a.Protocol.Dose.Progression.Text + " 0 to 10"
	for i := range a.Plan.Exercises {
		text += " " + a.Plan.Exercises[i].Dose.Text + " " + words().Plain().Load(&a.Plan.Exercises[i])
	}
	for day := 1; day <= 14; day++ {
		text += fmt.Sprint(" ", day)
	}
	return numbers(text)
}

// byTheCourse is the source of a word: the course makes the rise probable, and the measurement
// has to show it too. TestWordsOfChangeByTheCourse holds each word against the rule.
const byTheCourse = "the word is that of the course, as far as the measurement shows it"

// The columns of the note, from the trials by pencil and paper; the words for the changes
// of strength and index from the course.
func TestProgressByHand(t *testing.T) {
	note := ProgressNote(stories()[1].assess(), nil, words())
	for _, tt := range []struct{ want, source string }{
		{"at the side, N 2026-01-05 71.0 90.0 90.0 +19.0 prob. higher", "mean of 70, 72, 71 to mean of 92, 88, 90; below the detectable change, 1.96 x 80.5 x sqrt(10^2 + 14^2) % = 27.15, and above 1.28 / 1.96 of it; " + byTheCourse},
		{"at the side, LSI % 2026-01-05 71.0 90.0 90.0 +19.0 not clear", "71 / 100 to 90 / 100; below 1.28 / 1.96 of 1.96 x 80.5 x sqrt(14^2 + 3 x 10^2) % = 35.14; " + byTheCourse},
		{"90° flexion, N 2026-02-16 60.5 67.0 67.0 +6.5 not clear", "first measured at the second visit; " + byTheCourse},
		{"90° flexion, LSI % 2026-02-16 63.7 69.8 69.8 +6.1 not clear", "60.5 / 95 to 67 / 96; " + byTheCourse},
		{"90° abduction, N 2026-03-30 - 70.0 70.0 - first", "measured once"},
		{"flexion, degrees 2026-01-05 125 160 160 +35 improved", "at least 10 degrees"},
		{"of 10 6 2 2 -4 improved", "at least 2"},
	} {
		if !strings.Contains(columnsOf(note), tt.want) {
			t.Errorf("no %q (%s) in\n%s", tt.want, tt.source, columnsOf(note))
		}
	}
}

// A change of strength or index that the course follows and that is higher than before is
// called higher by the probability that it truly is, from 97.5 % on clearly, from 90 % on
// probably; but clearly only beyond the detectable change, and probably only if the
// measurement alone makes it 90 %, which is 1.28 / 1.96 of the detectable change.
//
// Source: certainty.clear and certainty.probable of the default protocol. The tests of this
// story do not show more together than each alone.
func TestWordsOfChangeByTheCourse(t *testing.T) {
	a, words := stories()[1].assess(), map[measure.Direction]int{}
	for i := range a.Measurements.Changes {
		k := &a.Measurements.Changes[i]
		of := a.Course.Find(k.Setting)
		if k.Against != measure.Baseline || of == nil || !of.First.Known || k.Difference.Sign() <= 0 {
			continue
		}
		below := of.First.Index.Below
		switch {
		case k.Subject == measure.StrengthChange && k.Side == a.Episode.Involved:
			below = of.First.Strength.Below
		case k.Subject != measure.SymmetryChange:
			continue
		}
		want := measure.Unchanged
		switch percent := 100 - 100*below; {
		case percent >= 97.5 && k.Difference.Float64() > k.Detectable:
			want = measure.Improved
		case percent >= 90 && k.Difference.Float64() >= 1.2816/1.9600*k.Detectable:
			want = measure.PossiblyImproved
		}
		words[want]++
		if k.Direction != want {
			t.Errorf("%v %v is %v, of %v by %.1f %%", k.Subject, k.Setting, k.Direction, want, 100-100*below)
		}
	}
	if len(words) < 2 {
		t.Errorf("too few words are tried: %v", words)
	}
}

// columnsOf joins the lines of a table's rows: the first column of a row goes on
// in the next line.
func columnsOf(text string) string {
	text = regexp.MustCompile(`(active flexion,) +(2026-01-05) +(.*)\n(degrees)`).ReplaceAllString(text, "$1 $2 $4 $3")
	text = regexp.MustCompile(`(pain during the) +(2026-01-05) +(.*)\n(resisted test, of 10)`).ReplaceAllString(text, "$1 $2 $4 $3")
	return spaced(text)
}

// words that a patient of twelve does not know.
var jargon = map[string]*regexp.Regexp{
	"en": regexp.MustCompile(`(?i)\b(LSI|MDC|SEM|index|symmetry|isometric|isotonic|rhythmic|stabilisation|abduction|flexion|rotation|dynamomet\w+|criteri\w+|protocol|threshold|involved|comparison|interval|irritability|dose|cuff|verdict|provisional\w*|measurement error)\b`),
	"de": regexp.MustCompile(`(?i)\b(LSI|MDC|index|symmetrie\w*|isometrisch|isotonisch|rhythmisch\w*|abduktion|flexion|\w*rotation|dynamometer|kriteri\w+|protokoll|schwelle|betroffene|vergleichsseite|messfehler|irritierbarkeit|dosis|rotatorenmanschette|vorläufig)\b`),
	"fr": regexp.MustCompile(`(?i)\b(LSI|MDC|IC|indice|symétri\w*|isométrique|isotonique|rythmique|stabilisation|abduction|flexion|rotation|dynamomètre|critère\w*|protocole|seuil|atteint|comparaison|intervalle|irritabilité|dose|coiffe|palier|provisoire|erreur de mesure)\b`),
}

// A sheet for the patient is easy to read: of at most 35 on the readability
// index LIX, where children's books lie below 40; no long sentences; no jargon.
//
// Source: Björnsson 1968, Läsbarhet (LIX: words a sentence, and words of more
// than six letters in per cent), the classes from memory.
func TestPatientsReadEasily(t *testing.T) {
	everywhere(t, func(t *testing.T, s story, form, text string, w *wording.Catalogue) {
		if form != "patient" {
			return
		}
		if found := jargon[w.Language()].FindString(text); found != "" {
			t.Errorf("%q is jargon", found)
		}
		var sentences []string
		for _, part := range regexp.MustCompile(`[.:;!?] |- `).Split(text, -1) {
			if n := len(strings.Fields(part)); n > 22 {
				t.Errorf("%d words: %s", n, part)
			} else if n > 0 {
				sentences = append(sentences, part)
			}
		}
		if lix := lixOf(text, len(sentences)); lix > 35 {
			t.Errorf("LIX %.0f", lix)
		}
	})
}

func lixOf(text string, sentences int) float64 {
	long, all := 0, 0
	for _, word := range regexp.MustCompile(`\p{L}+`).FindAllString(text, -1) {
		all++
		if len([]rune(word)) > 6 {
			long++
		}
	}
	return float64(all)/float64(sentences) + 100*float64(long)/float64(all)
}

// English for the patient is that of the sixth grade, an age of about twelve.
//
// Source: Kincaid et al. 1975 (Flesch-Kincaid grade); syllables are counted by
// groups of vowels.
func TestPatientsOfTwelveRead(t *testing.T) {
	vowels := regexp.MustCompile(`(?i)[aeiouy]+`)
	for _, s := range allStories() {
		var all, syllables int
		text := spaced(Patient(s.assess(), words()))
		for _, word := range regexp.MustCompile(`[A-Za-z]+`).FindAllString(text, -1) {
			all++
			syllables += max(1, len(vowels.FindAllString(strings.TrimSuffix(strings.ToLower(word), "e"), -1)))
		}
		sentences := len(regexp.MustCompile(`[.:;!?] |- `).Split(text, -1))
		grade := 0.39*float64(all)/float64(sentences) + 11.8*float64(syllables)/float64(all) - 15.59
		if grade > 6.9 {
			t.Errorf("%s: grade %.1f", s.name, grade)
		}
	}
}

// No dose reaches the patient but through the therapist, and no healing
// shoulder is told to do more.
func TestPatientsAreNotMisled(t *testing.T) {
	for _, language := range wording.Languages() {
		w := wording.For(language)
		for _, s := range allStories() {
			a := s.assess()
			text := spaced(Patient(a, w))
			for i := range a.Plan.Exercises {
				if dose := a.Plan.Exercises[i].Dose.Text; strings.Contains(text, dose) {
					t.Errorf("%s, %s: dose %q", language, s.name, dose)
				}
			}
			if a.Readiness.Overall == readiness.NotCleared && strings.Contains(text, fmt.Sprint(135)) {
				t.Errorf("%s, %s: a healing shoulder is told how far to reach", language, s.name)
			}
			for _, want := range []string{w.Plain().Help(), w.Plain().Closing()} {
				if !strings.Contains(text, want) {
					t.Errorf("%s, %s: no %q", language, s.name, want)
				}
			}
		}
	}
}

// Whoever asks for kilogram-force finds no newtons, but per kilogram of body
// mass.
func TestForcesAreInOneUnit(t *testing.T) {
	newtons := regexp.MustCompile(`\d N(?:[^/]|$)|, N `)
	for _, s := range stories() {
		all := forms(t, s, words())
		if s.name == "third visit, external rotation behind" && !newtons.MatchString(all["text"]) {
			t.Fatal("no newtons to begin with")
		}
		a, w := s.assess(), words().InForce(wording.KilogramForce)
		for form, text := range textForms(s, w) {
			if found := newtons.FindString(text); found != "" {
				t.Errorf("%s, %s: %q", s.name, form, found)
			}
		}
		for form, div := range map[string]string{"narrative": New(a, s.issues, w).Narrative(), "plan": New(a, nil, w).PlanNarrative()} {
			if found := newtons.FindString(plain(t, div)); found != "" {
				t.Errorf("%s, %s: %q", s.name, form, found)
			}
		}
	}
}
