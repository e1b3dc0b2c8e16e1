// Package pdftest reads back, for tests, the documents that package pdf writes:
// only what they use of the format.
//
// Source: ISO 32000-1, sections 7.3 (objects), 7.4 (filters) and 9.4 (text).
package pdftest

import (
	"bytes"
	"compress/zlib"
	"errors"
	"fmt"
	"io"
	"regexp"
	"strings"
	"unicode/utf16"
)

// ErrNoText is returned for a document without a line of text.
var ErrNoText = errors.New("no text found")

var stream = regexp.MustCompile(`(?s)<<([^>]*(?:<<[^>]*>>[^>]*)*)>>\s*stream\r?\n`)

// Pages returns the lines of text of each page, in the order in which they are
// painted.
func Pages(document []byte) ([][]string, error) {
	var pages [][]string
	for _, at := range stream.FindAllSubmatchIndex(document, -1) {
		body, _, found := bytes.Cut(document[at[1]:], []byte("\nendstream"))
		if !found {
			return nil, fmt.Errorf("stream at %d has no end", at[0])
		}
		content, err := inflated(document[at[2]:at[3]], body)
		if err != nil {
			return nil, fmt.Errorf("stream at %d: %w", at[0], err)
		}
		if lines := shown(content); len(lines) > 0 {
			pages = append(pages, lines)
		}
	}
	if len(pages) == 0 {
		return nil, ErrNoText
	}
	return pages, nil
}

func inflated(dictionary, body []byte) ([]byte, error) {
	if !bytes.Contains(dictionary, []byte("FlateDecode")) {
		return body, nil
	}
	r, err := zlib.NewReader(bytes.NewReader(body))
	if err != nil {
		return nil, err
	}
	return io.ReadAll(r)
}

// text is one line as it is painted: a place, a string and the operator.
var text = regexp.MustCompile(`(?s)BT -?[\d.]+ -?[\d.]+ Td \(((?:[^\\)]|\\.)*)\) Tj ET`)

func shown(content []byte) (lines []string) {
	for _, found := range text.FindAllSubmatch(content, -1) {
		lines = append(lines, fromUTF16(literal(found[1])))
	}
	return lines
}

// literal is the bytes that a literal string stands for.
func literal(escaped []byte) []byte {
	plain := make([]byte, 0, len(escaped))
	for i := 0; i < len(escaped); i++ {
		c := escaped[i]
		if c == '\\' && i+1 < len(escaped) {
			i++
			c = escaped[i]
			if c == 'r' {
				c = '\r'
			}
		}
		plain = append(plain, c)
	}
	return plain
}

func fromUTF16(b []byte) string {
	b = bytes.TrimPrefix(b, []byte{0xFE, 0xFF})
	units := make([]uint16, len(b)/2)
	for i := range units {
		units[i] = uint16(b[2*i])<<8 | uint16(b[2*i+1])
	}
	return string(utf16.Decode(units))
}

// Info returns an entry of the document's information, such as Title, empty if
// there is none.
func Info(document []byte, name string) string {
	entry := regexp.MustCompile(`(?s)/` + name + ` \(((?:[^\\)]|\\.)*)\)`)
	found := entry.FindSubmatch(document)
	if found == nil {
		return ""
	}
	plain := literal(found[1])
	if strings.HasPrefix(string(plain), "\xFE\xFF") {
		return fromUTF16(plain)
	}
	return string(plain)
}
