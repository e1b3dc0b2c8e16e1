package service

import (
	"context"
	"strings"

	"evenreach.example/internal/worksheet"
)

// ServeLaunch lets health records launch the worksheet's page. It is to be called before Handler.
func (s *Server) ServeLaunch(l worksheet.Launch) {
	l.Searches = s.launchSearches
	s.launch = &l
}

// launchSearches are what the page reads of a patient: what a configured record is asked
// for. Nobody has said who asks when the page is read, so that the codes are those of callers
// without a tenant.
func (s *Server) launchSearches() []worksheet.Search {
	asked := s.searches(context.Background())
	all := make([]worksheet.Search, len(asked))
	for i, search := range asked {
		all[i] = worksheet.Search{Type: search.Type, Parameters: map[string]string{}}
		for name, values := range search.Parameters {
			all[i].Parameters[name] = strings.Join(values, ",")
		}
	}
	return all
}
