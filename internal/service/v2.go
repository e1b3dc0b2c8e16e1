package service

import (
	"context"
	"maps"
	"mime"
	"net/http"
	"slices"
	"strings"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/hl7v2"
	"evenreach.example/internal/mllp"
	"evenreach.example/internal/ops"
)

// v2Path is the address of messages of HL7 version 2.
const v2Path = "/v2"

// v2Types are the media types of a message, the registered-looking one first; the other is what
// an implementation of HL7 over HTTP uses.
var v2Types = []string{"application/hl7-v2", "x-application/hl7-v2+er7"}

// v2 answers POST /v2.
func (s *Server) v2(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if s.messages == nil || r.URL.Path != v2Path {
			next.ServeHTTP(w, r)
			return
		}
		ops.CallFrom(r.Context()).Operation = v2Path
		wanted, q, err := negotiateV2(r)
		if err != nil {
			if r.Method != http.MethodPost {
				w.Header().Set("Allow", http.MethodPost)
			}
			s.writeRefusal(w, r, err)
			return
		}
		if err := s.serveMessage(w, r, wanted, q); err != nil {
			s.writeRefusal(w, r, err)
		}
	})
}

// serveMessage reads a message and writes the reply. The error is one that prevents a reply.
func (s *Server) serveMessage(w http.ResponseWriter, r *http.Request, mediaType string, q Request) error {
	ctx := withLanguage(r.Context(), r.Header.Values("Accept-Language"))
	body, done, err := s.takeBody(ctx, w, r)
	if err != nil {
		return err
	}
	defer done()
	reply, err := s.message(ctx, body, q)
	status := http.StatusOK
	if err != nil {
		status = edge[s.refuse(ctx, err).Kind()].http
	}
	if status == http.StatusServiceUnavailable {
		w.Header().Set("Retry-After", "1")
	}
	w.Header().Set("Content-Type", contentType(mediaType))
	w.WriteHeader(status)
	_, _ = w.Write(reply) // a caller that hung up needs no answer
	return nil
}

// negotiateV2 reads what a request with a message asks for: the media type of the reply, and the parameters of
// the operation that the address has.
func negotiateV2(r *http.Request) (mediaType string, q Request, err error) {
	if r.Method != http.MethodPost {
		return "", q, fault.Refuse(fault.WrongMethod, "", "found another method; expected POST")
	}
	sent := cleanType(r.Header.Get("Content-Type"))
	if sent != "" && !slices.Contains(v2Types, sent) {
		return "", q, fault.Refuse(fault.MediaTypeUnknown, "", "the format of Content-Type is not read; expected a message of HL7 version 2: "+strings.Join(v2Types, ", "))
	}
	for _, mediaType = range slices.Insert(slices.Clone(v2Types), 0, sent) {
		if mediaType != "" && accepts(r, mediaType) {
			q, err = addressedV2(r)
			return mediaType, q, err
		}
	}
	return "", q, fault.Refuse(fault.MediaTypeUnwanted, "", "the format asked for by Accept is not written; expected "+strings.Join(v2Types, ", "))
}

// cleanType is a media type without its parameters. The message itself says in which character set it
// is.
func cleanType(value string) string {
	mediaType, _, _ := mime.ParseMediaType(value)
	if mediaType == "" {
		return value
	}
	return mediaType
}

func accepts(r *http.Request, mediaType string) bool {
	accept := strings.Join(r.Header.Values("Accept"), ",")
	return strings.TrimSpace(accept) == "" || quality(parseRanges(accept), mediaType) > 0
}

// addressedV2 reads the parameters of the operation in an address, because a message has no place for
// them.
func addressedV2(r *http.Request) (Request, error) {
	values := r.URL.Query()
	var all []fhir.Parameter
	for _, name := range slices.Sorted(maps.Keys(values)) {
		value := values.Get(name)
		switch name {
		case "involvedSide", "language", "forceUnit":
			all = append(all, fhir.Parameter{Name: name, Value: fhir.Code(value)})
		case "asOf":
			all = append(all, fhir.Parameter{Name: name, Value: fhir.DateTime(value)})
		case "protocol":
			all = append(all, fhir.Parameter{Name: name, Value: fhir.String(value)})
		default:
			return Request{}, fault.Refuse(fault.BadParameter, "", "found an unknown parameter in the address; expected involvedSide, asOf, protocol, language or forceUnit")
		}
	}
	q := fromParameters(&fhir.Parameters{Parameter: all})
	q.Problems = slices.DeleteFunc(q.Problems, func(i fault.Issue) bool { return i.Kind == fault.RequiredMissing })
	for i := range q.Problems {
		q.Problems[i].Path = ""
	}
	return q, fault.New(q.Problems)
}

// MLLP is a server for messages over MLLP, which answers each by an acknowledgement of the original
// mode. It needs ServeV2 with a target.
func (s *Server) MLLP() *mllp.Server {
	return &mllp.Server{Handle: s.handleMLLP, Opened: s.watch.MLLPConnections, Limits: mllp.Limits{Bytes: fhir.DefaultLimits.Bytes}}
}

// handleMLLP answers one message.
func (s *Server) handleMLLP(ctx context.Context, data []byte) []byte {
	ctx, call := s.watch.Begin(ctx, ops.MLLP, requestID(""), "mllp")
	reply, err := s.guardedMessage(ctx, data)
	code := hl7v2.Accepted
	if err != nil {
		refused := s.refuse(ctx, err)
		code = codeOf(refused)
		if reply == nil {
			reply = hl7v2.Reply{At: s.pipelineOf(ctx).Now()}.Acknowledgement(code, refused.Issues)
		}
	}
	s.watch.EndMLLP(call, string(code))
	return reply
}

// guardedMessage answers a message within the limits of the service; a panic is a defect.
func (s *Server) guardedMessage(ctx context.Context, data []byte) (reply []byte, err error) {
	defer s.recover(ctx, &err)
	if ctx, err = s.join(ctx, ownerOfMessages); err != nil {
		return nil, err
	}
	if err := s.capacity.enterRoom(ctx); err != nil {
		return nil, err
	}
	defer s.capacity.room.leave()
	return s.message(ctx, data, Request{})
}
