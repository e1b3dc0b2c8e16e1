package service

import (
	"cmp"
	"context"
	"errors"
	"io"
	"log"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/grpc-ecosystem/grpc-gateway/v2/runtime"
	"google.golang.org/genproto/googleapis/api/httpbody"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/proto"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/ops"
	"evenreach.example/internal/record"
	"evenreach.example/internal/service/encoded"
	"evenreach.example/internal/worksheet"
)

// NewHTTPServer returns a server with limits against slow and hostile clients. It is served on the admin port too.
func NewHTTPServer(h http.Handler, log *log.Logger) *http.Server {
	return &http.Server{
		Handler:           h,
		ReadHeaderTimeout: 5 * time.Second,
		ReadTimeout:       30 * time.Second,
		WriteTimeout:      60 * time.Second,
		IdleTimeout:       2 * time.Minute,
		MaxHeaderBytes:    maxHeaders,
		ErrorLog:          log,
	}
}

// Handler returns the REST interface. The gateway finds the operation and calls the
// Server within the process, without the interceptors of gRPC; what these do
// for an RPC is done here: observe, guard and authenticate for every request,
// and operation for one whose address is known.
func (s *Server) Handler() (http.Handler, error) {
	mux := runtime.NewServeMux(
		runtime.WithMarshalerOption(runtime.MIMEWildcard, &runtime.HTTPBodyMarshaler{Marshaler: bodyMarshaler{&runtime.JSONPb{}}}),
		runtime.WithMiddlewares(s.operation),
		runtime.WithForwardResponseOption(writeNegotiated),
		runtime.WithErrorHandler(s.gatewayError),
		runtime.WithRoutingErrorHandler(s.routingError),
		runtime.WithIncomingHeaderMatcher(noHeader),
		runtime.WithOutgoingHeaderMatcher(noHeader),
		runtime.WithDisablePathLengthFallback(),
		runtime.WithDisableHTTPMethodOverride(),
		runtime.WithWriteContentLength(),
	)
	if err := encoded.RegisterAssessmentServiceHandlerServer(context.Background(), mux, s); err != nil {
		return nil, err
	}
	page := worksheet.Page{Measures: s.outcomeMeasures, Launch: s.launch}
	return s.observe(s.guard(page.Before(compress(s.cdsHooks(s.notifications(s.published(s.authenticate(s.limitClient(s.v2(s.operations(mux))))))))))), nil
}

// noHeader keeps the gateway from passing headers on as metadata: nothing
// behind it reads them.
func noHeader(string) (string, bool) { return "", false }

// unmatched is the operation of a request whose address is not known.
const unmatched = "unmatched"

// observe begins a request and records it when it is answered.
func (s *Server) observe(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		ctx := s.watch.JoinHTTP(r.Context(), r.Header)
		ctx, call := s.watch.Begin(ctx, ops.HTTP, requestID(r.Header.Get(requestIDHeader)), unmatched)
		call.Peer = r.RemoteAddr
		w.Header().Set(requestIDHeader, call.ID)
		w.Header().Set("Cache-Control", "no-store") // it is about a patient
		w.Header().Set("X-Content-Type-Options", "nosniff")
		if len(r.TransferEncoding) > 0 {
			// It may have had a Content-Length too, which net/http drops. A
			// proxy that went by that would take the rest of the connection for
			// another request (RFC 9112, section 6.1).
			w.Header().Set("Connection", "close")
		}
		if s.givesUp(ctx) {
			w.Header().Set("Connection", "close") // by HTTP/2 net/http says GOAWAY
		}
		recorder := &statusRecorder{ResponseWriter: w}
		defer func() { s.watch.EndHTTP(call, r.Method, recorder.code()) }()
		next.ServeHTTP(recorder, r.WithContext(ctx))
	})
}

// statusRecorder remembers the status of an answer.
type statusRecorder struct {
	http.ResponseWriter
	status int
}

// WriteHeader notes the status.
func (r *statusRecorder) WriteHeader(status int) {
	if r.status == 0 {
		r.status = status
	}
	r.ResponseWriter.WriteHeader(status)
}

// Unwrap serves http.ResponseController.
func (r *statusRecorder) Unwrap() http.ResponseWriter { return r.ResponseWriter }

// code is the status, which is 200 unless written otherwise.
func (r *statusRecorder) code() int {
	if r.status == 0 {
		return http.StatusOK
	}
	return r.status
}

// guard answers a panic as a defect.
func (s *Server) guard(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		var err error
		defer func() {
			if err != nil {
				s.writeRefusal(w, r, err)
			}
		}()
		defer s.recover(r.Context(), &err)
		next.ServeHTTP(w, r)
	})
}

// operation is the middleware of a request with a known address, before the gateway
// reads it.
func (s *Server) operation(next runtime.HandlerFunc) runtime.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request, pathParams map[string]string) {
		ctx := r.Context()
		if pattern, ok := runtime.HTTPPattern(ctx); ok {
			ops.CallFrom(ctx).Operation = pattern.String()
		}
		wanted, parameters, err := negotiateOperation(r)
		if err != nil {
			s.writeRefusal(w, r, err)
			return
		}
		ctx = withLanguage(withAddress(ctx, parameters), r.Header.Values("Accept-Language"))
		out := replies.Get().(*reply)
		defer out.release()
		ctx = context.WithValue(ctx, formatKey{}, wanted)
		r = r.WithContext(context.WithValue(ctx, replyKey{}, out))
		if err := s.capacity.enterRoom(ctx); err != nil {
			s.writeRefusal(w, r, err)
			return
		}
		defer s.capacity.room.leave()
		body, err := readBody(w, r, int64(fhir.DefaultLimits.Bytes), &s.bodies)
		if err != nil {
			s.writeRefusal(w, r, err)
			return
		}
		defer body.release()
		r.Body = body
		next(w, r, pathParams)
	}
}

// bodyMarshaler passes a body on unread; the service reads it.
type bodyMarshaler struct{ *runtime.JSONPb }

// NewDecoder gives the whole body to a google.api.HttpBody.
func (m bodyMarshaler) NewDecoder(r io.Reader) runtime.Decoder {
	return runtime.DecoderFunc(func(v any) error {
		message, isBody := v.(*httpbody.HttpBody)
		body, isRead := r.(*requestBody)
		if !isBody || !isRead {
			return m.JSONPb.NewDecoder(r).Decode(v)
		}
		message.Data = body.bytes()
		return nil
	})
}

// writeNegotiated writes an answer in the media type that was negotiated.
func writeNegotiated(ctx context.Context, w http.ResponseWriter, m proto.Message) error {
	body, ok := m.(*httpbody.HttpBody)
	if !ok {
		return nil
	}
	wanted := formatFrom(ctx)
	w.Header().Set("Content-Type", contentType(wanted.mediaType))
	body.Data = wanted.layout(body.Data)
	return nil
}

// gatewayError answers an error of the service, or of the gateway itself.
func (s *Server) gatewayError(_ context.Context, _ *runtime.ServeMux, _ runtime.Marshaler, w http.ResponseWriter, r *http.Request, err error) {
	_, ours := errors.AsType[*refusal](err)
	if !ours && status.Code(err) == codes.InvalidArgument {
		err = fault.Refuse(fault.BadParameter, "", "a header is malformed; expected Grpc-Timeout, if any, as digits and a unit")
	}
	s.writeRefusal(w, r, err)
}

// routingError answers a request whose address or method is not known.
func (s *Server) routingError(_ context.Context, _ *runtime.ServeMux, _ runtime.Marshaler, w http.ResponseWriter, r *http.Request, status int) {
	if status == http.StatusMethodNotAllowed {
		// Every address that the gateway knows belongs to an operation.
		s.refuseMethod(w, r, http.MethodPost)
		return
	}
	s.writeRefusal(w, r, fault.Refuse(fault.UnknownPath, "", "there is nothing at this address; expected POST /fhir/$assess-shoulder"))
}

// refuseMethod answers a request whose method the address does not have. OPTIONS asks
// which it has.
//
// Source: RFC 9110, sections 9.3.7 and 15.5.6.
func (s *Server) refuseMethod(w http.ResponseWriter, r *http.Request, methods ...string) {
	w.Header().Set("Allow", strings.Join(append(methods, http.MethodOptions), ", "))
	if r.Method == http.MethodOptions {
		w.WriteHeader(http.StatusNoContent)
		return
	}
	s.writeRefusal(w, r, fault.Refuse(fault.WrongMethod, "", "found another method; expected "+strings.Join(methods, " or ")))
}

// statusHungUp is the status, for log and metrics alone, of a request whose caller hung
// up: there is none in RFC 9110. Common practice.
const statusHungUp = 499

// writeRefusal answers with an OperationOutcome. Each of its issues has diagnostics,
// because common clients show nothing else.
func (s *Server) writeRefusal(w http.ResponseWriter, r *http.Request, err error) {
	refused := s.refuse(r.Context(), err)
	code := edge[refused.Kind()].http
	if refused.code == codes.Canceled {
		code = statusHungUp
	}
	if code == http.StatusServiceUnavailable {
		w.Header().Set("Retry-After", "1")
		w.Header().Set("Connection", "close") // another replica may have room
	}
	if code == http.StatusTooManyRequests {
		w.Header().Set("Retry-After", retryAfter(err))
	}
	if challenge := challengeOf(err); challenge != "" {
		w.Header().Set("WWW-Authenticate", challenge)
	}
	body := formatFrom(r.Context()).layout(fhirjson.Encode(record.Outcome(diagnosed(refused.Issues))))
	w.Header().Set("Content-Type", contentType(fhirJSON))
	w.WriteHeader(code)
	_, _ = w.Write(body) // a caller that hung up needs no answer
}

// diagnosed are issues whose diagnostics say all that there is to say.
func diagnosed(issues []fault.Issue) []fault.Issue {
	all := slices.Clone(issues)
	for i := range all {
		text := cmp.Or(all[i].Detail, all[i].Kind.Display())
		if all[i].Diagnostic != "" {
			text += "; " + all[i].Diagnostic
		}
		all[i].Diagnostic = text
	}
	return all
}
