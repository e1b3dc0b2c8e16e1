package population

import "evenreach.example/internal/wording"

func clinicPage(*Lists, *wording.Catalogue) []byte   { return nil }
func reportPage(*Summary, *wording.Catalogue) []byte { return nil }
