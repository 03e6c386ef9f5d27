package money

import (
	"context"
	"net/http"
	"time"

	"golang.org/x/sync/errgroup"

	"tackfree/pkg/clients"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/gateway/internal/bands"
	"tackfree/services/gateway/internal/web"
)

// books is how the books are: how far behind, what they could not take in, and what comparing them found.
type books struct {
	counts
	Missing  bands.Missing
	Progress *costingv1.GetProgressResponse
	Letters  []*costingv1.DeadLetter
	Position int64
	Found    *costingv1.VerifyResponse
}

// Behind reports whether something that happened is not in the books.
func (b books) Behind() bool {
	p := b.Progress
	return p.GetParked() > 0 || p.GetDead() > 0 || p.GetBehind() > 0
}

// More is how many differences are not told.
func (b books) More() int { return int(b.Found.GetDifferenceCount()) - len(b.Found.GetDifferences()) }

func loadBooks(a *web.Asked) (it books, err error) {
	reading, ctx := errgroup.WithContext(a.Context())
	reading.Go(func() (err error) {
		it.Progress, err = a.Kit.Suite.Books.GetProgress(ctx, &costingv1.GetProgressRequest{})
		return err
	})
	reading.Go(func() (err error) {
		it.Letters, err = clients.All(ctx, func(ctx context.Context, token string) ([]*costingv1.DeadLetter, string, error) {
			r, err := a.Kit.Suite.Books.ListDeadLetters(ctx, &costingv1.ListDeadLettersRequest{PageSize: pageSize, PageToken: token})
			return r.GetDeadLetters(), r.GetNextPageToken(), err
		})
		return err
	})
	reading.Go(func() error {
		r, err := a.Kit.Suite.Answers.ListJournal(ctx, &costingv1.ListJournalRequest{PageSize: 1})
		it.Position = r.GetPosition()
		return err
	})
	if err := reading.Wait(); err != nil {
		return it, it.Missing.Of(err)
	}
	return it, nil
}

func showBooks(w http.ResponseWriter, a *web.Asked) error { return showBooksWith(w, a, nil, nil) }

func showBooksWith(w http.ResponseWriter, a *web.Asked, found *costingv1.VerifyResponse, refused error) error {
	it, err := loadBooks(a)
	if err != nil {
		return err
	}
	it.Found = found
	return a.ShowRefused(w, "money", title(a, "books"), page{Tab: "books", Books: &it}, refused)
}

// longestCompare is how long comparing may take: as long as costing lets it.
const longestCompare = 16 * time.Minute

// verify compares the books with what happened and shows what it found. It takes as long as it takes; the
// page counts the seconds meanwhile, and whoever leaves ends it.
func verify(w http.ResponseWriter, a *web.Asked) error {
	_ = http.NewResponseController(w).SetWriteDeadline(time.Now().Add(longestCompare)) // where it cannot be set, the usual one holds
	found, err := a.Kit.Suite.Books.Verify(a.Context(), &costingv1.VerifyRequest{})
	if err != nil && !refusal(err) {
		return err
	}
	return showBooksWith(w, a, found, err)
}

// retry books again what could not be booked.
func retry(w http.ResponseWriter, a *web.Asked) error {
	_, err := a.Kit.Suite.Books.RetryDeadLetter(a.Context(), &costingv1.RetryDeadLetterRequest{RequestId: a.RequestID(), Name: a.Typed("letter")})
	if refusal(err) {
		return showBooksWith(w, a, nil, err)
	}
	if err != nil {
		return err
	}
	return a.After(w, "/money/books", "money.books.retried")
}
