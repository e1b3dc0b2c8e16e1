package program

import "evenreach.example/internal/report/typeset"

// Papers are the sizes of a page by their names on the command line.
var Papers = map[string]typeset.Paper{"a4": typeset.A4, "letter": typeset.Letter}
