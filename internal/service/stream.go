package service

import (
	"context"
	"errors"
	"fmt"
	"io"

	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/proto"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir/fhirproto"
	"evenreach.example/internal/ops"
	"evenreach.example/internal/record"
	"evenreach.example/internal/service/encoded"
)

type assessStream = grpc.BidiStreamingServer[encoded.AssessStreamRequest, encoded.AssessStreamResponse]

// AssessStream answers the requests of a stream one by one, in their order. A
// refusal answers its request, and the stream goes on.
func (s *Server) AssessStream(stream assessStream) error {
	ctx := stream.Context()
	requests := s.receive(stream)
	for n := 1; ; n++ {
		select {
		case <-s.draining:
			return s.refuse(ctx, fault.Refuse(fault.Unavailable, "", "the service shuts down; send what was not answered again"))
		case <-ctx.Done():
			return s.refuse(ctx, context.Cause(ctx))
		case next := <-requests:
			switch {
			case errors.Is(next.err, io.EOF):
				return nil
			case next.err != nil:
				return next.err
			}
			if err := stream.Send(s.answerOne(ctx, n, next.request)); err != nil {
				return err
			}
		}
	}
}

type received struct {
	request *encoded.AssessStreamRequest
	err     error
}

// receive reads ahead of the answers by one request, so that reading and
// answering overlap and memory stays bounded. It ends with the stream's
// context.
func (s *Server) receive(stream assessStream) <-chan received {
	requests := make(chan received, 1)
	go func() {
		for {
			request, err := s.receiveOne(stream)
			select {
			case requests <- received{request, err}:
			case <-stream.Context().Done():
				return
			}
			if err != nil {
				return
			}
		}
	}()
	return requests
}

// receiveOne reads one request. It has a goroutine of its own, in which a panic
// would end the process.
func (s *Server) receiveOne(stream assessStream) (request *encoded.AssessStreamRequest, err error) {
	defer s.recover(stream.Context(), &err)
	return stream.Recv()
}

// answerOne answers one request of a stream. It is a call of its own, in the
// log and in the metrics, under the id of the stream and its number in it.
func (s *Server) answerOne(ctx context.Context, n int, m *encoded.AssessStreamRequest) *encoded.AssessStreamResponse {
	stream := ops.CallFrom(ctx)
	ctx, call := s.watch.Begin(ctx, ops.Stream, fmt.Sprintf("%s.%d", stream.ID, n), stream.Operation)
	call.Client, call.Person, call.Peer = stream.Client, stream.Person, stream.Peer
	response, err := s.assessInTurn(ctx, m.GetRequest())
	s.watch.End(call, status.Code(err))
	if err == nil {
		return &encoded.AssessStreamResponse{Key: m.GetKey(), Answer: &encoded.AssessStreamResponse_Assessed{Assessed: response}}
	}
	return &encoded.AssessStreamResponse{Key: m.GetKey(), Answer: &encoded.AssessStreamResponse_Refused{Refused: refusedMessage(err)}}
}

// assessInTurn assesses when there is room: a stream waits where a single call
// would be turned away.
func (s *Server) assessInTurn(ctx context.Context, m *encoded.AssessRequest) (response *encoded.AssessResponse, err error) {
	defer s.recover(ctx, &err)
	if ctx, err = s.joinAgain(ctx); err != nil {
		return nil, s.refuse(ctx, err)
	}
	leave, err := s.sharesOf(ctx).wait(ctx, ops.CallFrom(ctx).Client)
	if err != nil {
		return nil, s.refuse(ctx, err)
	}
	defer leave()
	if err := s.capacity.room.enter(ctx); err != nil {
		return nil, s.refuse(ctx, err)
	}
	defer s.capacity.room.leave()
	lane := s.capacity.lane(proto.Size(m))
	if err := lane.enter(ctx); err != nil {
		return nil, s.refuse(ctx, err)
	}
	defer lane.leave()
	return s.assess(ctx, m)
}

// refusedMessage is a refusal as an answer. A stream's messages have room for
// every issue.
func refusedMessage(err error) *encoded.Refusal {
	refused := refusalOf(err)
	outcome, err := asField(record.Outcome(refused.Issues), fhirproto.AppendOutcome)
	if err != nil {
		return &encoded.Refusal{Code: int32(codes.Internal)}
	}
	return &encoded.Refusal{Code: int32(refused.code), Outcome: outcome}
}
