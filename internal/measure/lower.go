package measure

// mostlyLower is how many tests have to be lower, all of them, before it is said that
// they are. Common practice.
const mostlyLower = 3

// AllLower is the number of strength tests if every one of them is lower than before, 0
// if not or if they are too few to tell.
func AllLower(changes []*Change) (n int) {
	for _, k := range changes {
		if k.Subject != StrengthChange {
			continue
		}
		if k.Difference.Sign() >= 0 {
			return 0
		}
		n++
	}
	if n < mostlyLower {
		return 0
	}
	return n
}
