// Package wording holds every text that people read, one catalogue for each
// language, and composes sentences from it. A catalogue is data: tables of
// terms by value, and sentences with numbered gaps. Whoever translates writes
// one file beside english.go.
package wording

// Catalogue is the texts of one language. It is read-only.
type Catalogue struct {
	language string
}

// For returns the catalogue of a language by its BCP 47 tag, such as "en" or
// "en-GB"; an unknown language is answered in English.
func For(language string) *Catalogue { return &english }

// Language is the catalogue's own BCP 47 tag.
func (c *Catalogue) Language() string { return c.language }

var english = Catalogue{language: "en"}
