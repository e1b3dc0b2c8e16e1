package service

import (
	"context"
	"errors"
	"net/http"
	"slices"

	"github.com/go-json-experiment/json"

	"evenreach.example/internal/auth"
	"evenreach.example/internal/cdshooks"
	"evenreach.example/internal/fault"
	"evenreach.example/internal/ops"
	"evenreach.example/internal/report"
)

// Hooks says how CDS Hooks are answered.
type Hooks struct {
	// Clients says who may ask; nil for everybody.
	Clients HookAuthenticator
	// Fetcher asks for prefetch that is missing.
	Fetcher *cdshooks.Fetcher
	// Origins are the origins of web pages that may ask.
	Origins []string
}

// A HookAuthenticator identifies a client of CDS Hooks from the values of the header Authorization and the path
// of the call. The error is a refusal.
type HookAuthenticator interface {
	Authenticate(ctx context.Context, authorization []string, path string) (auth.Caller, error)
}

// ServeHooks makes the Server answer CDS Hooks. It is to be called before Handler.
func (s *Server) ServeHooks(h Hooks) { s.hooks = &h }

// The addresses of CDS Hooks, which its specification gives.
const (
	discoveryPath = "/cds-services"
	servicePath   = discoveryPath + "/" + cdshooks.ServiceID
	feedbackPath  = servicePath + "/feedback"
)

// hookMethods are the method of each address.
var hookMethods = map[string]string{discoveryPath: http.MethodGet, servicePath: http.MethodPost, feedbackPath: http.MethodPost}

// cdsHooks answers CDS Hooks.
func (s *Server) cdsHooks(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		method, known := hookMethods[r.URL.Path]
		if s.hooks == nil || !known {
			next.ServeHTTP(w, r)
			return
		}
		ops.CallFrom(r.Context()).Operation = r.URL.Path
		if s.hooks.cors(w, r, method) {
			return
		}
		if err := s.serveHook(w, r, method); err != nil {
			s.writeRefusal(w, r, err)
		}
	})
}

// cors tells the browser of a page of an allowed origin that it may ask, and reports true if that was the
// whole question.
//
// Source: CDS Hooks 2.0, cross-origin resource sharing; the Fetch standard.
func (h *Hooks) cors(w http.ResponseWriter, r *http.Request, method string) (done bool) {
	origin := r.Header.Get("Origin")
	if origin == "" {
		return false
	}
	w.Header().Add("Vary", "Origin")
	if !slices.Contains(h.Origins, origin) {
		return false
	}
	w.Header().Set("Access-Control-Allow-Origin", origin)
	if r.Method != http.MethodOptions {
		w.Header().Set("Access-Control-Expose-Headers", requestIDHeader)
		return false
	}
	w.Header().Set("Access-Control-Allow-Methods", method)
	w.Header().Set("Access-Control-Allow-Headers", "Authorization, Content-Type, "+requestIDHeader)
	w.Header().Set("Access-Control-Max-Age", "600")
	w.WriteHeader(http.StatusNoContent)
	return true
}

// serveHook answers a call, or says why not.
func (s *Server) serveHook(w http.ResponseWriter, r *http.Request, method string) error {
	ctx, err := s.admitHook(r)
	if err != nil {
		return err
	}
	leave, err := s.sharesOf(ctx).enter(ops.CallFrom(ctx).Client)
	if err != nil {
		return err
	}
	defer leave()
	if r.Method != method {
		w.Header().Set("Allow", method)
		return fault.Refuse(fault.WrongMethod, "", "found another method; expected "+method)
	}
	if r.URL.Path == discoveryPath {
		return writeJSON(w, cdshooks.Discover(s.templates(ctx)))
	}
	if sent := cleanType(r.Header.Get("Content-Type")); sent != "application/json" {
		return fault.Refuse(fault.MediaTypeUnknown, "", "the format of Content-Type is not read; expected application/json")
	}
	body, done, err := s.takeBody(ctx, w, r)
	if err != nil {
		return err
	}
	defer done()
	if r.URL.Path == feedbackPath {
		return s.feedback(w, body)
	}
	response, err := s.cards(withLanguage(ctx, r.Header.Values("Accept-Language")), body)
	if err != nil {
		return err
	}
	return writeJSON(w, response)
}

// templates ask for what the service reads.
func (s *Server) templates(ctx context.Context) map[string]string {
	p := s.pipelineOf(ctx)
	return cdshooks.Templates(p.measurementCodes(), p.Codes.RepairCodes())
}

// admitHook identifies the client, notes it for the log, and finds its tenant.
func (s *Server) admitHook(r *http.Request) (context.Context, error) {
	ctx, shown := r.Context(), shownBy(r)
	if s.hooks.Clients == nil {
		return s.joinCaller(ctx, callerOf(auth.Caller{}, shown))
	}
	call := ops.CallFrom(ctx)
	caller, err := s.hooks.Clients.Authenticate(ctx, shown.Authorization, r.URL.Path)
	if refused, ok := errors.AsType[*auth.Refusal](err); ok {
		call.Denied = string(refused.Reason)
	}
	call.Client = caller.Client
	if err != nil {
		return ctx, err
	}
	return s.joinCaller(ctx, callerOf(caller, shown))
}

func writeJSON(w http.ResponseWriter, value any) error {
	text, err := json.Marshal(value, json.Deterministic(true))
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", contentType("application/json"))
	_, _ = w.Write(text) // a caller that hung up needs no answer
	return nil
}

// cards answers a call of the service.
func (s *Server) cards(ctx context.Context, body []byte) (*cdshooks.Response, error) {
	q, err := cdshooks.ReadRequest(body)
	if err != nil {
		return nil, err
	}
	s.fetch(ctx, q)
	lane, err := s.capacity.enterProcessor(ctx, len(body))
	if err != nil {
		return nil, err
	}
	defer lane.leave()
	ops.CallFrom(ctx).Enter(ops.Decode)
	in, err := q.Gather()
	if err != nil {
		return nil, err
	}
	answer, err := s.run(ctx, Request{Bundle: in.Bundle, Root: "Bundle", Place: in.Place})
	if nothingToSay(err) {
		return &cdshooks.Response{Cards: []cdshooks.Card{}}, nil
	}
	if err != nil {
		return nil, err
	}
	ops.CallFrom(ctx).Enter(ops.Encode)
	defer ops.CallFrom(ctx).Leave()
	cards := report.Cards(answer.Assessment, answer.Words)
	for i := range cards {
		s.watch.Card(cdshooks.TopicCode(cards[i].Topic))
	}
	response := cdshooks.Respond(q, cards, answer.Bundle, answer.Words, "Evenreach "+s.pipelineOf(ctx).Version)
	return &response, nil
}

// fetch asks for what is missing and counts the outcome. What could not be had is reported when the prefetch is
// gathered.
func (s *Server) fetch(ctx context.Context, q *cdshooks.Request) {
	missing := q.Missing(s.templates(ctx))
	if len(missing) == 0 || q.FHIRServer == "" || q.Authorization == nil {
		return
	}
	switch err := s.hooks.Fetcher.Fetch(ctx, q, missing); {
	case err == nil:
		s.watch.Fetched("ok")
	case errors.Is(err, cdshooks.ErrDenied):
		s.watch.Fetched("denied")
	default:
		s.watch.Fetched("failed")
	}
}

// nothingToSay reports whether a call is about a patient whose shoulder nobody measured: the hooks fire for
// everybody. Where something was dropped the caller has to know.
func nothingToSay(err error) bool {
	refused, ok := errors.AsType[*fault.Errors](err)
	if !ok || refused.Kind() == fault.Internal {
		return false
	}
	nothing := false
	for _, i := range refused.Issues {
		nothing = nothing || i.Kind == fault.NothingToAssess
		if i.Severity == fault.Warning || i.Severity >= fault.Error && i.Kind != fault.NothingToAssess && i.Kind != fault.NoInvolvedSide {
			return false
		}
	}
	return nothing
}

// feedback counts what became of cards.
func (s *Server) feedback(w http.ResponseWriter, body []byte) error {
	all, err := cdshooks.ReadFeedback(body)
	if err != nil {
		return err
	}
	for _, f := range all {
		s.watch.Feedback(f.Outcome, f.Reason)
	}
	return writeJSON(w, struct{}{})
}
