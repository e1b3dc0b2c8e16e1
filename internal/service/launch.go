package service

import (
	"strings"

	"evenreach.example/internal/fhirclient"
	"evenreach.example/internal/worksheet"
)

// ServeLaunch lets health records launch the worksheet's page. It is to be called before Handler.
func (s *Server) ServeLaunch(l worksheet.Launch) {
	l.Searches = s.searches
	s.launch = &l
}

// searches are what the page reads of a patient: what the configured record is asked for.
func (s *Server) searches() []worksheet.Search {
	asked := fhirclient.Searches(s.pipeline().measurementCodes(), s.pipeline().Codes.RepairCodes())
	all := make([]worksheet.Search, len(asked))
	for i, search := range asked {
		all[i] = worksheet.Search{Type: search.Type, Parameters: map[string]string{}}
		for name, values := range search.Parameters {
			all[i].Parameters[name] = strings.Join(values, ",")
		}
	}
	return all
}
