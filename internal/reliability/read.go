package reliability

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
)

// Read reads test-retest data as CSV: a header, then one row a subject, its
// scores in the columns of the trials. A first column that holds no number in
// any row names the subjects and is left out. Semicolons may separate the
// columns, and then decimals may be written with a comma. The error names every
// cell that is no score.
func Read(r io.Reader) ([][]float64, error) {
	text, err := io.ReadAll(r)
	if err != nil {
		return nil, err
	}
	records, comma, err := split(strings.TrimPrefix(string(text), "\ufeff"))
	if err != nil {
		return nil, err
	}
	if len(records) < 2 {
		return nil, errors.New("a header and one row a subject are needed")
	}
	records = records[1:]
	first := 0
	if namesSubjects(records, comma) {
		first = 1
	}
	rows := make([][]float64, len(records))
	var problems []error
	for i, record := range records {
		for j, cell := range record[first:] {
			score, err := parseScore(cell, comma)
			if err != nil {
				problems = append(problems, fmt.Errorf("row %d, column %d: %w", i+2, first+j+1, err))
			}
			rows[i] = append(rows[i], score)
		}
	}
	return rows, errors.Join(problems...)
}

// split reads the cells, and says whether decimals may have a comma.
func split(text string) (records [][]string, comma bool, err error) {
	reader := csv.NewReader(strings.NewReader(text))
	reader.TrimLeadingSpace = true
	header, _, _ := strings.Cut(text, "\n")
	if strings.Contains(header, ";") {
		reader.Comma, comma = ';', true
	}
	records, err = reader.ReadAll()
	return records, comma, err
}

func namesSubjects(records [][]string, comma bool) bool {
	for _, record := range records {
		if _, err := parseScore(record[0], comma); err == nil {
			return false
		}
	}
	return true
}

// parseScore reads a score above 0.
func parseScore(cell string, comma bool) (float64, error) {
	cell = strings.TrimSpace(cell)
	if comma {
		cell = strings.Replace(cell, ",", ".", 1)
	}
	score, err := strconv.ParseFloat(cell, 64)
	if err != nil || !(score > 0 && score < 1e6) {
		return 0, errors.New("expected a score above 0")
	}
	return score, nil
}
