package main

import (
	"fmt"
	"slices"
	"strings"
)

// entry is a type of the list, as it is written there.
type entry struct {
	path     string // FHIR name of the type, or path of the element that has it
	comment  []string
	options  options
	elements []listed
}

// listed is an element of the list.
type listed struct {
	name     string
	isChoice bool
	options  options
}

// options are what stands behind a type or an element: keywords, each with the
// names that follow it.
type options map[string][]string

func (o options) has(keyword string) bool { return o[keyword] != nil }

// one is the name behind a keyword that takes one, "" without the keyword.
func (o options) one(keyword string) string {
	if len(o[keyword]) != 1 {
		return ""
	}
	return o[keyword][0]
}

var (
	typeKeywords    = []string{"as", "value", "again", "each", "apart", "many", "also", "json", "before-json", "after-json", "before-proto"}
	elementKeywords = []string{"as", "inline", "split", "with", "also"}
)

// parse reads the list.
func parse(text string) (entries []entry, err error) {
	var comment []string
	for n, line := range strings.Split(text, "\n") {
		switch {
		case line == "" || line[0] == '#':
		case strings.HasPrefix(line, "//"):
			comment = append(comment, line)
		case line[0] == '\t' && len(entries) == 0:
			err = fmt.Errorf("found elements without a type")
		case line[0] == '\t':
			err = entries[len(entries)-1].add(line)
		default:
			e := entry{comment: comment}
			e.path, e.options, err = words(line, typeKeywords)
			entries, comment = append(entries, e), nil
		}
		if err != nil {
			return nil, fmt.Errorf("line %d: %w", n+1, err)
		}
	}
	return entries, nil
}

// add reads the elements of a line.
func (e *entry) add(line string) error {
	for item := range strings.SplitSeq(strings.Trim(line, "\t,"), ",") {
		name, found, err := words(item, elementKeywords)
		if err != nil {
			return err
		}
		name, isChoice := strings.CutSuffix(name, "[x]")
		e.elements = append(e.elements, listed{name, isChoice, found})
	}
	return nil
}

// words reads a name and what stands behind it.
func words(text string, keywords []string) (name string, found options, err error) {
	all := strings.Fields(text)
	if len(all) == 0 {
		return "", nil, fmt.Errorf("found no name between commas")
	}
	found = options{}
	last := ""
	for _, word := range all[1:] {
		switch {
		case slices.Contains(keywords, word):
			last = word
			found[word] = []string{}
		case last == "":
			return "", nil, fmt.Errorf("found %q behind %s; expected one of %v", word, all[0], keywords)
		default:
			found[last] = append(found[last], word)
		}
	}
	return all[0], found, nil
}
