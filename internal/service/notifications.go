package service

import (
	"context"
	"errors"
	"net/http"
	"slices"
	"strings"
	"time"

	"evenreach.example/internal/auth"
	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhirclient"
	"evenreach.example/internal/ops"
	"evenreach.example/internal/record"
	"evenreach.example/internal/subscription"
)

// notificationsPath is where the record sends notifications: with POST, or with PUT of a resource below it, as R4 has it.
const notificationsPath = "/notifications"

// notifications takes notifications of the record.
func (s *Server) notifications(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		below, ok := strings.CutPrefix(r.URL.Path, notificationsPath)
		if s.record == nil || s.record.Queue == nil || !ok || below != "" && below[0] != '/' {
			next.ServeHTTP(w, r)
			return
		}
		ops.CallFrom(r.Context()).Operation = notificationsPath
		methods := []string{http.MethodPost, http.MethodPut, http.MethodDelete}
		if !slices.Contains(methods, r.Method) {
			s.refuseMethod(w, r, methods...)
			return
		}
		if err := s.takeNotification(w, r, strings.Trim(below, "/")); err != nil {
			s.watch.Notified("refused")
			s.writeRefusal(w, r, err)
		}
	})
}

// takeNotification puts the patients of a notification into the queue. Without an error they are there.
func (s *Server) takeNotification(w http.ResponseWriter, r *http.Request, below string) error {
	if s.record.Senders != nil {
		if err := s.record.Senders.Admit(r.Header.Values("Authorization")); err != nil {
			if refused, ok := errors.AsType[*auth.Refusal](err); ok {
				ops.CallFrom(r.Context()).Denied = string(refused.Reason)
			}
			return err
		}
	}
	ctx, err := s.join(r.Context(), ownerOfRecord)
	if err != nil {
		return err
	}
	body, done, err := s.takeBody(ctx, w, r)
	if err != nil {
		return err
	}
	defer done()
	n, err := subscription.Read(body, s.record.Client.Base())
	if err != nil {
		return err
	}
	if n.Unnamed && below != "" {
		*n = subscription.Notification{Resources: []string{below}}
		if typeName, id, ok := strings.Cut(below, "/"); !ok || !fhirclient.IsID(typeName) || !fhirclient.IsID(id) {
			return fault.Refuse(fault.UnknownPath, "", "there is nothing at this address; expected "+notificationsPath+", or a type and an id below it")
		}
	}
	patients, err := s.notified(ctx, n)
	if err != nil {
		return err
	}
	if len(patients) == 0 {
		s.watch.Notified("empty")
		return nil
	}
	s.watch.Notified("taken")
	return nil
}

// notified puts the patients whom a notification names into the queue, asking the record where it does not name them.
func (s *Server) notified(ctx context.Context, n *subscription.Notification) (patients []string, err error) {
	patients, began := n.Patients, time.Now()
	for _, resource := range n.Resources {
		patient, err := s.record.Client.PatientOf(ctx, resource)
		if err != nil {
			return nil, recordRefusal(err)
		}
		if patient != "" {
			patients = append(patients, patient)
		}
	}
	if n.Unnamed {
		p := s.pipelineOf(ctx)
		changed, err := s.record.Client.ChangedSince(ctx, s.record.changesKnownUntil(), p.measurementCodes(), p.Codes.RepairCodes())
		if err != nil {
			return nil, recordRefusal(err)
		}
		patients = append(patients, changed...)
	}
	if err := s.record.Queue.Add(patients...); err != nil {
		return nil, &fetchError{fault.Refuse(fault.Unavailable, "", "the notification could not be kept; send it again"), err}
	}
	if n.Unnamed {
		s.record.noteChangesUntil(began)
	}
	return patients, nil
}

// clocksApart is how far the clock of the record may be behind ours.
//
// Source: common practice.
const clocksApart = time.Minute

// changesKnownUntil is the time up to which the queue has heard of every change in the record.
func (r *recordDoor) changesKnownUntil() time.Time {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.since.Add(-clocksApart)
}

func (r *recordDoor) noteChangesUntil(until time.Time) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if until.After(r.since) {
		r.since = until
	}
}

// queueWorkers is how many patients of the queue are assessed at a time. They leave room for the callers, who wait.
const queueWorkers = 2

// RunQueue assesses the patients of whom notifications came, until the queue is closed and empty or the context ends.
func (s *Server) RunQueue(ctx context.Context) {
	if s.record != nil && s.record.Queue != nil {
		s.record.Queue.Run(ctx, queueWorkers, s.assessQueued)
	}
}

// How long it takes until what failed is tried again: at first, and at most. It doubles each time.
//
// Source: common practice.
const (
	firstRetry   = 10 * time.Second
	longestRetry = 10 * time.Minute
)

// assessQueued assesses a patient of the queue and stores the answer, and says when to try again; 0 for never.
func (s *Server) assessQueued(ctx context.Context, patient string, failed int) (again time.Duration) {
	ctx, call := s.watch.Begin(ctx, ops.Queue, requestID(""), "queue")
	err := s.guardedQueued(ctx, patient)
	result := "stored"
	switch {
	case err == nil:
	case nothingToSay(err):
		result = "nothing"
	case mayPass(err) && refusalOf(err).Kind() != fault.Internal:
		result, again = "failed", min(firstRetry<<min(failed, 10), longestRetry)
		if busy, ok := errors.AsType[*fhirclient.Busy](err); ok {
			again = max(again, min(busy.After, longestRetry))
		}
	default:
		result = "refused"
	}
	if err != nil && result != "nothing" {
		_ = s.refuse(ctx, err) // noted for the log and the metrics; nobody waits for it
	}
	s.watch.EndQueued(call, result)
	return again
}

// guardedQueued assesses and stores; a panic is a defect.
func (s *Server) guardedQueued(ctx context.Context, patient string) (err error) {
	defer s.recover(ctx, &err)
	if ctx, err = s.join(ctx, ownerOfRecord); err != nil {
		return err
	}
	if err := s.record.asking.enter(ctx); err != nil {
		return err
	}
	defer s.record.asking.leave()
	_, err = s.assessAndStore(ctx, patient, Request{Output: record.LivingTransaction}, s.computePatiently)
	return err
}

// computePatiently answers a request of the queue, for which no caller waits: it waits for a processor as long as it takes.
func (s *Server) computePatiently(ctx context.Context, q Request) (*Answer, error) {
	if err := s.capacity.processors.enter(ctx); err != nil {
		return nil, err
	}
	defer s.capacity.processors.leave()
	return s.run(ctx, q)
}
