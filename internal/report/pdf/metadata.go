package pdf

import (
	"time"

	"evenreach.example/internal/report/markup"
)

// metadata repeats title, language and date in the form that archives and
// readers of screens look for.
//
// Source: Extensible Metadata Platform, ISO 16684-1, from memory.
func metadata(m Meta) []byte {
	b := []byte("<?xpacket begin=\"\uFEFF\" id=\"W5M0MpCehiHzreSzNTczkc9d\"?>\n")
	raw := func(s string) { b = append(b, s...) }
	text := func(s string) { b = markup.AppendText(b, s) }
	raw(`<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">` +
		`<rdf:Description rdf:about="" xmlns:dc="http://purl.org/dc/elements/1.1/" xmlns:xmp="http://ns.adobe.com/xap/1.0/" ` +
		`xmlns:pdf="http://ns.adobe.com/pdf/1.3/"><dc:title><rdf:Alt><rdf:li xml:lang="x-default">`)
	text(m.Title)
	raw(`</rdf:li></rdf:Alt></dc:title><dc:language><rdf:Bag><rdf:li>`)
	text(m.Language)
	raw(`</rdf:li></rdf:Bag></dc:language><xmp:CreateDate>` + m.Created.UTC().Format(time.RFC3339))
	raw(`</xmp:CreateDate><pdf:Producer>` + producer + `</pdf:Producer></rdf:Description></rdf:RDF></x:xmpmeta>` + "\n")
	raw(`<?xpacket end="w"?>`)
	return b
}
