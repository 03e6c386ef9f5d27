package server

import (
	"time"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/wire"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/workflow"
)

// kept is a request as the device keeps it: what its clock shows is another time whenever it asks
// again.
func kept(r *workflowv1.SendClockEntryRequest) *workflowv1.SendClockEntryRequest {
	k := proto.CloneOf(r)
	k.DeviceTime = nil
	return k
}

func (s *Server) decodeSent(r *workflowv1.SendClockEntryRequest, now time.Time) (sent workflow.SentEntry, err error) {
	if sent, err = s.decodeSentTimes(r, now); err != nil {
		return sent, err
	}
	sent.Device, sent.Read = r.Device, r.AcknowledgedCautions
	if r.Station != "" {
		if sent.StationWord, err = stationWord("station", r.Station); err != nil {
			return sent, err
		}
	}
	if r.ClockEntry != "" {
		if sent.Ends, err = id.One("clock_entry", r.ClockEntry, "clockEntries"); err != nil {
			return sent, err
		}
		return sent, sent.Told()
	}
	t, err := readTarget(r)
	sent.Piece, sent.Stage, sent.Batch, sent.Indirect = t.piece, t.stage, t.batch, t.indirect
	if err != nil {
		return sent, err
	}
	return sent, sent.Told()
}

func (s *Server) decodeSentTimes(r *workflowv1.SendClockEntryRequest, now time.Time) (sent workflow.SentEntry, err error) {
	device, err := s.Shop.Instant("device_time", r.DeviceTime)
	if fault.Is(err, "TIME_MALFORMED") { // however wrong it is, it is what the clock shows
		return sent, err
	}
	sent.Skew = device.Sub(now).Round(time.Millisecond)
	if sent.Start, err = s.byDevice("start_time", r.StartTime, sent.Skew); err != nil {
		return sent, err
	}
	sent.End, err = s.byDevice("end_time", r.EndTime, sent.Skew)
	return sent, err
}

// lastYear is the last one in which a time can be kept in every zone.
const lastYear = 9998

// byDevice reads an instant by the clock of a device, which may be ahead of ours, or began anew
// decades ago: it is old only if it still is less the skew. Absent is the zero time. Faults:
// TIME_MALFORMED, TIME_TOO_OLD; TIME_IN_FUTURE, of the end of all years.
func (s *Server) byDevice(field string, ts *timestamppb.Timestamp, skew time.Duration) (time.Time, error) {
	if ts == nil {
		return time.Time{}, nil
	}
	t, err := s.Shop.Instant(field, ts)
	switch {
	case fault.Is(err, "TIME_IN_FUTURE") && t.Year() <= lastYear:
	case fault.Is(err, "TIME_TOO_OLD") && !t.Add(-skew).Before(wire.Oldest):
	case err != nil:
		return time.Time{}, err
	}
	return t.In(s.Shop.Zone), nil
}
