package wordingtest

import "testing"

func TestEnglish(t *testing.T) {
	for text, want := range map[string]string{
		"Der Arm bleibt ruhig, in 90 Grad Abduktion":                            "",
		"l’abduction active sur la table, rotation externe, distance, patients": "",
		"Quelle: common practice, no published source":                          "practice",
		"Weir 2005, J Strength Cond Res 19:231-40":                              "",
		"Medical Research Council, Memorandum No. 45, 1976":                     "",
		"force \u00a0: not measured":                                            "not",
		"Farrar et al. 2001, Pain 94:149-58":                                    "",
	} {
		if got := English(text); got != want {
			t.Errorf("English(%q) is %q, want %q", text, got, want)
		}
	}
}
