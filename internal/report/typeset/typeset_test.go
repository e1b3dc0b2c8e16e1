package typeset

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"evenreach.example/internal/report/drawing"
	"evenreach.example/internal/report/typeface"
)

// format is that of a clinical report.
var format = Format{Paper: A4, Pages: 2, Largest: 10, Comfortable: 9}

func noFoot(int, int) []string { return []string{""} }

// sample is a document with every kind of block; more repeats its texts.
func sample(more int) []Block {
	picture := &drawing.Drawing{Width: 720, Height: 300}
	picture.Add(drawing.Label{At: drawing.Point{X: 10, Y: 30}, Text: "picture", Size: 14})
	var texts Columns
	for i := range more {
		texts = append(texts,
			Heading(fmt.Sprintf("Heading %d", i)),
			Text{Text: fmt.Sprintf("Point %d: ", i) + strings.Repeat("some words that fill a line ", 6), Kind: Point, Bold: i%2 == 0},
			Text{Text: fmt.Sprintf("Part %d of the point.", i), Kind: Part},
			Text{Text: fmt.Sprintf("Small %d.", i), Kind: Point, Small: true},
			Text{Text: fmt.Sprintf("Plain %d.", i)},
		)
	}
	return []Block{
		Title("A title"), Note("A note"), Frame("What nobody may miss."), texts,
		Heading("Table"), table(more), Picture{picture}, texts, beside(more),
	}
}

// beside is a small picture with text of any length.
func beside(more int) Block {
	small := &drawing.Drawing{Width: 90, Height: 60}
	small.Add(drawing.Label{At: drawing.Point{X: 5, Y: 20}, Text: "small picture", Size: 8})
	return Illustrated{small, []Block{Text{Text: "Beside " + strings.Repeat("words beside a picture ", 9*more)}, Text{Text: "Its part.", Kind: Part}}}
}

func table(rows int) Table {
	t := Table{Columns: []Column{{"Name", false}, {"Number", true}, {"Words", false}}}
	for g := range 2 {
		group := Group{Name: fmt.Sprintf("Group %d", g)}
		for i := range rows {
			group.Rows = append(group.Rows, Row{Cells: []string{fmt.Sprintf("row %d", i), "100.5 N", "good enough"}, Note: "A note about the row."})
		}
		t.Groups = append(t.Groups, group)
	}
	return t
}

func labels(page *drawing.Drawing) (all []drawing.Label) {
	for _, s := range page.Shapes {
		if l, ok := s.(drawing.Label); ok {
			all = append(all, l)
		}
	}
	return all
}

// letters is what is written on the pages, without white space and marks.
func letters(pages []*drawing.Drawing) string {
	var b strings.Builder
	for _, page := range pages {
		for _, l := range labels(page) {
			b.WriteString(bare(l.Text))
		}
	}
	return b.String()
}

func bare(text string) string {
	return strings.Join(strings.Fields(strings.NewReplacer("•", "", "–", "").Replace(typeface.Printable(text))), "")
}

type failer interface{ Errorf(string, ...any) }

// checkPages reports text that leaves the margins or covers other text.
func checkPages(t failer, pages []*drawing.Drawing) {
	for n, page := range pages {
		all := labels(page)
		for i, l := range all {
			a := extent(l)
			if a.left < marginSide-0.5 || a.right > page.Width-marginSide+0.5 || a.top < marginTop-0.5 || a.bottom > page.Height-10 {
				t.Errorf("page %d: %q leaves the page: %.1f", n+1, l.Text, a)
			}
			for _, other := range all[i+1:] {
				if b := extent(other); a.left < b.right-0.1 && b.left < a.right-0.1 && a.top < b.bottom-0.1 && b.top < a.bottom-0.1 {
					t.Errorf("page %d: %q and %q cover each other", n+1, l.Text, other.Text)
				}
			}
		}
	}
}

// extent is the place of a text: letters rise by less than 0.75 of their size
// and hang by less than 0.22.
func extent(l drawing.Label) frame {
	wide := typeface.Weight(l.Bold).Width(l.Text, l.Size)
	return frame{l.Left(), l.Left() + wide, l.At.Y - 0.75*l.Size, l.At.Y + 0.22*l.Size}
}

func TestAnyLengthIsSetProperly(t *testing.T) {
	for i, more := range []int{0, 1, 3, 8, 20, 60, 0, 1, 3, 8, 20, 60} {
		t.Run(fmt.Sprint(i, more), func(t *testing.T) {
			f := format
			if i >= 6 {
				f.Paper = Letter
			}
			pages := Pages(sample(more), f, func(page, pages int) []string { return []string{"Who.", fmt.Sprintf("Page %d of %d", page, pages)} })
			checkPages(t, pages)
			for i, page := range pages {
				if page.Width != f.Paper.Width || page.Height != f.Paper.Height {
					t.Errorf("page %d is %v x %v", i+1, page.Width, page.Height)
				}
				all := labels(page)
				if last := all[len(all)-1].Text; last != fmt.Sprintf("Page %d of %d", i+1, len(pages)) {
					t.Errorf("the foot of page %d is %q", i+1, last)
				}
			}
		})
	}
}

func TestNothingIsLost(t *testing.T) {
	got := letters(Pages(sample(7), format, noFoot))
	for _, want := range []string{
		"A title", "A note", "What nobody may miss.", "Heading 6", "Part 6 of the point.", "Small 3.", "Plain 0.",
		"Point 4: " + strings.Repeat("some words that fill a line ", 6), "picture",
		"Group 0" + "row 0" + "100.5 N" + "good enough" + "A note about the row.", "row 6",
	} {
		if !strings.Contains(got, bare(want)) {
			t.Errorf("%q is lost", want)
		}
	}
}

// The letters are as large as the wanted number of pages lets them be.
func TestSizeOfTheLetters(t *testing.T) {
	words := func(n int) []Block { return []Block{Text{Text: strings.Repeat("word ", n)}} }
	perPage := func(size float64) int { // lines of whole words, from the widths
		line := int((A4.inside().width() + typeface.Regular().Width(" ", size)) / typeface.Regular().Width("word ", size))
		return line * int((A4.Height-marginBottom-marginTop)/(size*leading))
	}
	for _, tt := range []struct {
		name   string
		words  int
		pages  int
		size   float64
		source string
	}{
		{"short", 100, 1, 10, "largest size"},
		{"one page in smaller letters", perPage(9.5), 1, 9.5, "fills a page at 9.5"},
		{"two pages rather than tiny letters", perPage(8.5), 2, 10, "would fit one page at 8.5 only"},
		{"two pages at most", 2 * perPage(8), 2, 8, "fills two pages at 8"},
		{"too long", 4 * perPage(9.5), 4, 9.5, "fills four pages at 9.5, and needs four at 9"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			pages := Pages(words(tt.words), format, noFoot)
			if size := labels(pages[0])[0].Size; len(pages) != tt.pages || size != tt.size {
				t.Errorf("%d pages in %v points, want %d in %v (%s)", len(pages), size, tt.pages, tt.size, tt.source)
			}
		})
	}
}

// A heading never ends a column or page.
func TestHeadingStaysWithItsText(t *testing.T) {
	for more := range 30 {
		for _, page := range Pages(sample(more), format, noFoot) {
			all := labels(page)
			for i, l := range all {
				if !strings.HasPrefix(l.Text, "Heading ") {
					continue
				}
				below := slices.ContainsFunc(all[i:], func(next drawing.Label) bool {
					return next.At.Y > l.At.Y && next.At.Y < l.At.Y+4*l.Size && next.At.X < l.At.X+40 && next.At.X >= l.At.X-1
				})
				if !below {
					t.Errorf("%d blocks: nothing follows %q", more, l.Text)
				}
			}
		}
	}
}

// A picture that stays with its name is on the page of the name, wherever that comes.
func TestTogetherStaysOnOnePage(t *testing.T) {
	square := &drawing.Drawing{Width: 100, Height: 60}
	square.Add(drawing.Label{At: drawing.Point{X: 5, Y: 20}, Text: "square", Size: 8})
	for more := range 60 {
		blocks := []Block{Text{Text: strings.Repeat("word ", 40*more)}, Together{Heading("Its name"), Text{Text: "What it shows."}, Picture{square}}, Text{Text: "After it."}}
		pages := Pages(blocks, format, noFoot)
		checkPages(t, pages)
		found := false
		for _, page := range pages {
			all := letters([]*drawing.Drawing{page})
			if named, shown := strings.Contains(all, bare("Its name")), strings.Contains(all, "square"); named != shown {
				t.Errorf("%d words: named %v and shown %v on one page", 40*more, named, shown)
			} else if named {
				found = true
			}
		}
		if !found {
			t.Errorf("%d words: the picture is lost", 40*more)
		}
	}
}

// Nobody is given letters larger than wanted, even for a single word.
func TestLargestSize(t *testing.T) {
	for _, largest := range []float64{12, 10} {
		pages := Pages([]Block{Text{Text: "word"}}, Format{Paper: A4, Pages: 2, Largest: largest, Comfortable: 9}, noFoot)
		if size := labels(pages[0])[0].Size; size != largest {
			t.Errorf("%v points, want %v", size, largest)
		}
	}
}

func TestHeadOfTheTableIsRepeated(t *testing.T) {
	pages := Pages([]Block{table(60)}, format, noFoot)
	if len(pages) < 2 {
		t.Fatal("one page")
	}
	for i, page := range pages {
		if first := labels(page)[0].Text; first != "Name" {
			t.Errorf("page %d starts with %q", i+1, first)
		}
	}
}

// A picture that does not fit goes to the next page; the text goes on.
func TestPictureFloats(t *testing.T) {
	tall := &drawing.Drawing{Width: 100, Height: 100}
	tall.Add(drawing.Label{At: drawing.Point{Y: 10}, Text: "picture", Size: 5})
	pages := set([]Block{Text{Text: strings.Repeat("word ", 1500)}, Picture{tall}, Text{Text: "after"}}, 9, A4)
	if len(pages) != 2 || labels(pages[1])[0].Text != "picture" || !strings.HasSuffix(letters(pages[:1]), "after") {
		t.Errorf("%d pages, the second starts with %q", len(pages), labels(pages[1])[0].Text)
	}
}

// Columns that end on a page are about equally long.
func TestColumnsAreBalanced(t *testing.T) {
	for more := 2; more < 9; more++ {
		texts := sample(more)[3].(Columns)
		page := set([]Block{texts}, 9, A4)[0]
		middle, ends := A4.Width/2, [2]float64{}
		for _, l := range labels(page) {
			side := 0
			if l.At.X > middle {
				side = 1
			}
			ends[side] = max(ends[side], l.At.Y)
		}
		if difference := ends[0] - ends[1]; difference < -20 || difference > 60 {
			t.Errorf("%d blocks: columns end at %.0f", more, ends)
		}
	}
}

func TestAnyTextsAreSetProperly(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.Custom(func(t *rapid.T) string {
			return strings.Repeat(rapid.StringN(0, 40, -1).Draw(t, "text")+" ", rapid.IntRange(0, 40).Draw(t, "times"))
		})
		// A row is not broken over pages: what stands in a cell is short.
		short := rapid.Custom(func(t *rapid.T) string {
			return strings.Repeat(rapid.StringN(0, 40, -1).Draw(t, "text")+" ", rapid.IntRange(0, 4).Draw(t, "times"))
		})
		n := rapid.IntRange(1, 4).Draw(t, "columns")
		columns, cells := make([]Column, n), make([]string, n)
		for i := range columns {
			columns[i], cells[i] = Column{short.Draw(t, "head"), i%2 == 1}, short.Draw(t, "cell")
		}
		blocks := []Block{
			Title(text.Draw(t, "title")), Note(text.Draw(t, "note")), Frame(text.Draw(t, "frame")),
			Columns{Heading(text.Draw(t, "heading")), Text{Text: text.Draw(t, "point"), Kind: Point}, Text{Text: text.Draw(t, "part"), Kind: Part}},
			Table{columns, []Group{{text.Draw(t, "group"), []Row{{cells, text.Draw(t, "row note")}}}}},
		}
		pages := Pages(blocks, format, noFoot)
		checkPages(t, pages)
		if point := bare(string(blocks[2].(Frame))); !strings.Contains(letters(pages), point) {
			t.Errorf("%q is lost", point)
		}
	})
}
