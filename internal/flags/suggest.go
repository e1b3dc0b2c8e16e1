package flags

// Suggest is the end of a problem with a name that is unknown: the name that
// may have been meant, if one is at most two letters away.
func Suggest(unknown string, names []string) string {
	best, least := "", 3
	for _, name := range names {
		if d := distance(unknown, name); d < least {
			best, least = name, d
		}
	}
	if best == "" {
		return ""
	}
	return "; did you mean " + best + "?"
}

// distance is the number of letters to insert, delete or replace to make one
// text of the other (Levenshtein 1966), in bytes.
func distance(a, b string) int {
	row := make([]int, len(b)+1) // from the part of a so far to each beginning of b
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		diagonal := row[0]
		row[0] = i + 1
		for j := range len(b) {
			replaced := diagonal
			if a[i] != b[j] {
				replaced++
			}
			diagonal = row[j+1]
			row[j+1] = min(replaced, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(b)]
}
