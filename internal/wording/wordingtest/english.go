// Package wordingtest finds, for tests, English words in texts of other languages.
package wordingtest

import (
	"regexp"
	"strings"
)

// words are English words that texts about a shoulder are made of, and that neither German
// nor French has.
const words = `about above according add after again against ago all always among and any anyone are at
athletes back be because been before begin being below beside better between beyond both by can
cannot care changed changes chosen clear cleared clearly clinic clinician closed compared
comparison confirmed correct could cuff day days deadline decides decline declined degrees
differ different differs does doubt doubtful draft each earlier either elbow elevated else
enough error even evenness every examination examine examined exercise exercises external fell
first follow for free from full further give given go goes good grade growing had half has have
healing health healthy held here high higher hint his hold holds how hurt if improved include
increase internal into involved is it its judgement kept know known later least leave left less
lift lifted limb limit limits load loaded loading longer lost lower made many may mean means
measure measured measurement measurements measures middle might missing more most much must near
needed needs never next none not nothing now number of older once one only open opens other ours
out over own people permits permitted practice probably progress proposed published put raise
raised range ready recorded reliable repair repaired repeat request rises same scope see seen
sessions set sets several shall she should shoulder show shown shows side sides since sleep
small some soon sound start stated stay stays step stop strength strengthening strong stronger
sudden supported sure surgeon surgery swimmers takes tested than that the their them then there
these they thing this those though threshold through time tired to together too towards treated
trial trials true two under unless unsupported until up upper use used usual very visit visits
wait waits way weak weaker week weeks well were what when where whether which while who whole
whose why with within without work worked working worse worst would written year years yes yet
you your`

// english are the words.
var english = func() map[string]bool {
	set := map[string]bool{}
	for w := range strings.FieldsSeq(words) {
		set[w] = true
	}
	return set
}()

// names are English in every language: publishers and journals.
//
// Source: the citations of the default protocol and of the catalogues.
var names = regexp.MustCompile(`American Academy of Orthopaedic Surgeons|American College of Sports Medicine|` +
	`Medical Research Council|PLOS ONE|` +
	`Pain \d+:|J [A-Z][A-Za-z ]+\d+:|et al\.|doi:\S+|evenreach-\S+`)

var word = regexp.MustCompile(`\p{L}+`)

// English is the first English word of a text in another language, empty if there is none.
func English(text string) string {
	for _, found := range word.FindAllString(names.ReplaceAllString(strings.Join(strings.Fields(text), " "), " "), -1) {
		if english[strings.ToLower(found)] {
			return found
		}
	}
	return ""
}
