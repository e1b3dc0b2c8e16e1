package config

import (
	"errors"
	"fmt"
	"os"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/intake"
	"evenreach.example/internal/protocol"
)

// maxFileSize bounds a file, in bytes: the default protocol has some ten
// thousand, and a hospital's code map not many more.
const maxFileSize = 1 << 20

// Protocols are the protocols to decide by, the default first: the clinic's own
// in the file, and also the built-in one for callers that ask for it by
// name; that alone if no file is given.
func Protocols(file string) ([]*protocol.Protocol, error) {
	standard := protocol.Default()
	if file == "" {
		return []*protocol.Protocol{standard}, nil
	}
	own, err := ReadProtocol(file)
	if err != nil {
		return nil, err
	}
	if own.ID == standard.ID && own.Version == standard.Version {
		return []*protocol.Protocol{own}, nil
	}
	return []*protocol.Protocol{own, standard}, nil
}

// ReadProtocol reads and checks a protocol file. The error names the file and
// lists everything that is wrong with it, one problem a line.
func ReadProtocol(file string) (*protocol.Protocol, error) {
	text, err := readFile(file)
	if err != nil {
		return nil, err
	}
	p, err := protocol.Load(text)
	if err == nil {
		err = asError(intake.CheckOutcomes(p))
	}
	if problems, ok := errors.AsType[protocol.Problems](err); ok {
		return nil, inFile(file, problems, func(p protocol.Problem) error { return protocol.Problems{p} })
	}
	return p, err
}

// asError is nil without problems.
func asError(problems protocol.Problems) error {
	if len(problems) == 0 {
		return nil
	}
	return problems
}

// ReadCodeMap reads and checks a site's own codes, as ReadProtocol does a
// protocol; nil if no file is given.
func ReadCodeMap(file string) (*intake.CodeMap, error) {
	if file == "" {
		return nil, nil
	}
	text, err := readFile(file)
	if err != nil {
		return nil, err
	}
	codes, err := intake.ReadCodeMap(text)
	if refused, ok := errors.AsType[*fault.Errors](err); ok {
		return nil, inFile(file, refused.Issues, func(i fault.Issue) error { return &fault.Errors{Issues: []fault.Issue{i}} })
	}
	return codes, err
}

func readFile(file string) ([]byte, error) {
	info, err := os.Stat(file)
	switch {
	case err != nil:
		return nil, fmt.Errorf("%s: %w", file, errors.Unwrap(err))
	case info.IsDir():
		return nil, fmt.Errorf("%s: found a folder; expected a file", file)
	case info.Size() > maxFileSize:
		return nil, fmt.Errorf("%s: found %d bytes; expected at most %d", file, info.Size(), maxFileSize)
	}
	return os.ReadFile(file)
}

// inFile puts the name of the file before each problem.
func inFile[P any](file string, problems []P, text func(P) error) error {
	all := make([]error, len(problems))
	for i, problem := range problems {
		all[i] = fmt.Errorf("%s: %w", file, text(problem))
	}
	return errors.Join(all...)
}
