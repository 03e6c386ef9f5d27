package cli

import (
	"context"
	"errors"
	"io"
	"slices"

	"google.golang.org/grpc"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	intakev1 "tackfree/proto/tackfree/intake/v1"
)

// gallery keeps photos as the fake does other things. A file that is noted is whole, with its header.
type gallery struct {
	intakev1.UnimplementedPhotoServiceServer
	f       *fake
	refuses string // a file of these bytes
	file    []byte // of every photo
	breaks  bool   // after half of a file
	asked   *intakev1.ListPhotosRequest
	loses   int    // streams, each after its first part, which is kept
	kept    []byte // of a file
}

func (g *gallery) register(s grpc.ServiceRegistrar) { intakev1.RegisterPhotoServiceServer(s, g) }

func (g *gallery) photos() []*intakev1.Photo {
	taken := &timestamppb.Timestamp{Seconds: 1772463600}
	return []*intakev1.Photo{
		{Name: "photos/p1", PieceTag: 1, Number: 1, Moment: intakev1.Photo_MOMENT_BEFORE, Note: "as found", TakenTime: taken, AddedBy: "Nell"},
		{Name: "photos/p3", PieceTag: 1, Number: 3, Moment: intakev1.Photo_MOMENT_DEFECT, PartLabel: "case", TakenTime: taken, AddedBy: "Nell"},
		{Name: "photos/p4", PieceTag: 1, Number: 4, Moment: intakev1.Photo_MOMENT_AFTER, TakenTime: taken, AddedBy: "Nell",
			Removal: &intakev1.Photo_Removal{Reason: "blurred", RemovedBy: "Odile"}},
	}
}

func (g *gallery) UploadPhoto(in grpc.ClientStreamingServer[intakev1.UploadPhotoRequest, intakev1.UploadPhotoResponse]) error {
	whole, err := in.Recv()
	if err != nil {
		return err
	}
	if at := whole.Header.ResumeAt; at > 0 {
		whole.Chunk, whole.Header.ResumeAt = append(slices.Clone(g.kept[:at]), whole.Chunk...), 0
	}
	for {
		next, err := in.Recv()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return err
		}
		whole.Chunk = append(whole.Chunk, next.Chunk...)
		if g.loses > 0 {
			g.loses, g.kept = g.loses-1, whole.Chunk
			return fault.New(fault.Unavailable, "UNAVAILABLE", "The shop goes down.")
		}
	}
	if g.refuses != "" && string(whole.Chunk) == g.refuses {
		return fault.New(fault.Invalid, "PHOTO_FORMAT", "Choose the most compatible format.")
	}
	answer, err := note(g.f, whole, &intakev1.UploadPhotoResponse{Photo: &intakev1.Photo{PieceTag: 1, Number: 5, Moment: whole.Header.Moment, PartLabel: "case", Width: 640, Height: 480}})
	if err != nil {
		return err
	}
	return in.SendAndClose(answer)
}

func (g *gallery) GetPhotoUpload(context.Context, *intakev1.GetPhotoUploadRequest) (*intakev1.GetPhotoUploadResponse, error) {
	return &intakev1.GetPhotoUploadResponse{KeptBytes: int64(len(g.kept))}, nil
}

func (g *gallery) ListPhotos(_ context.Context, r *intakev1.ListPhotosRequest) (*intakev1.ListPhotosResponse, error) {
	g.asked = r
	all := g.photos()
	if r.PageToken == "" { // the list has two pages
		return &intakev1.ListPhotosResponse{Photos: all[:2], NextPageToken: "2"}, nil
	}
	return &intakev1.ListPhotosResponse{Photos: all[2:]}, nil
}

func (g *gallery) DownloadPhoto(r *intakev1.DownloadPhotoRequest, out grpc.ServerStreamingServer[intakev1.DownloadPhotoResponse]) error {
	err := out.Send(&intakev1.DownloadPhotoResponse{Part: &intakev1.DownloadPhotoResponse_Header_{Header: &intakev1.DownloadPhotoResponse_Header{}}})
	for _, half := range [][]byte{[]byte(r.Name + " " + r.Size.String() + ": "), g.file} {
		if err == nil {
			err = out.Send(&intakev1.DownloadPhotoResponse{Part: &intakev1.DownloadPhotoResponse_Chunk{Chunk: half}})
		}
		if g.breaks {
			return fault.New(fault.NotFound, "PHOTO_FILE_MISSING", "The file is not there.")
		}
	}
	return err
}

func (g *gallery) DescribePhoto(_ context.Context, r *intakev1.DescribePhotoRequest) (*intakev1.DescribePhotoResponse, error) {
	return note(g.f, r, &intakev1.DescribePhotoResponse{Photo: g.photos()[0]})
}

func (g *gallery) RemovePhoto(_ context.Context, r *intakev1.RemovePhotoRequest) (*intakev1.RemovePhotoResponse, error) {
	return note(g.f, r, &intakev1.RemovePhotoResponse{Photo: g.photos()[0]})
}
