package wording

// frenchDoses are the doses of the default protocol. A clinic's own stay as the
// clinic writes them.
var frenchDoses = map[string]string{
	"3 sets of 10 short, light holds, clearly below full effort and free of pain":                                           "3 séries de 10 contractions courtes et légères, nettement sous l’effort maximal et sans douleur",
	"3 sets of 32 s at about 70 % of the strength tested, pain not above the limit":                                         "3 séries de 32 s à environ 70\u00a0% de la force mesurée, douleur pas au-dessus de la limite",
	"3 sets of 30 s of small alternating resistance, arm kept still":                                                        "3 séries de 30 s de petites résistances alternées, bras immobile",
	"3 sets of 8 at a load that allows 8, 2 s up and 2 s down, every other day":                                             "3 séries de 8 avec une charge qui en permet 8, 2 s à l’aller et 2 s au retour, un jour sur deux",
	"short bouts through the comfortable range, several times a day":                                                        "de courtes reprises dans l’amplitude confortable, plusieurs fois par jour",
	"load raised by 2-10 % when 1-2 repetitions more than asked are possible in two sessions":                               "augmenter la charge de 2-10\u00a0% quand 1-2 répétitions de plus que prévu sont possibles à deux séances",
	"functional loading as tolerated, load raised by 2-10 % when the target is exceeded by 1-2 repetitions in two sessions": "travail fonctionnel selon la tolérance, charge augmentée de 2-10\u00a0% quand l’objectif est dépassé de 1-2 répétitions à deux séances",
}
