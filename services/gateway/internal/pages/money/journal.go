package money

import (
	"encoding/csv"
	"errors"
	"net/http"
	"strconv"
	"time"

	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/web"
	"tackfree/services/gateway/internal/words"
)

var journalHeads = []string{"date", "entry", "account", "account_title", "debit", "credit", "description", "piece", "person", "reference", "currency", "recorded", "counts_on"}

// journalOf reads what of the journal is asked for.
func journalOf(a *web.Asked) (*costingv1.ListJournalRequest, error) {
	f := &typed.Form{Values: a.URL.Query(), Voice: a.Voice}
	r := &costingv1.ListJournalRequest{PageSize: pageSize, FromDate: f.Day("from"), ToDate: f.Day("to")}
	if text := f.Text("after"); text != "" {
		after, err := strconv.ParseInt(text, 10, 64)
		if err != nil || after < 0 {
			f.Refuse("NUMBER_UNREADABLE", "typed.whole", text)
		}
		r.AfterPosition = after
	}
	return r, f.Err()
}

// journalCSV sends the journal as it is read, however long it is. Its file's name has the position up to
// which it goes. What breaks on the way breaks the download too: half a journal must not look like one.
func journalCSV(w http.ResponseWriter, a *web.Asked) error {
	r, err := journalOf(a)
	if err != nil {
		return err
	}
	first, err := a.Kit.Suite.Answers.ListJournal(a.Context(), r)
	if err != nil {
		return err
	}
	out := &journal{voice: a.Voice, to: http.NewResponseController(w), table: table(w, "journal-to-"+strconv.FormatInt(first.Position, 10)+".csv")}
	w.Header().Set("X-Journal-Position", strconv.FormatInt(first.Position, 10))
	if err := errors.Join(out.table.Write(journalHeads), out.rest(a, r, first)); err != nil {
		a.Kit.Logger.ErrorContext(a.Context(), "a journal broke off", "error", err)
		panic(http.ErrAbortHandler)
	}
	return nil
}

// journal is one that is being sent.
type journal struct {
	voice *words.Voice
	to    *http.ResponseController
	table *csv.Writer
}

// slowest is how long one page may take to reach whoever asks.
const slowest = 2 * time.Minute

func (j *journal) rest(a *web.Asked, r *costingv1.ListJournalRequest, page *costingv1.ListJournalResponse) (err error) {
	for {
		_ = j.to.SetWriteDeadline(time.Now().Add(slowest)) // where it cannot be set, the usual one holds
		if err := j.send(page.Entries); err != nil {
			return err
		}
		if r.PageToken = page.NextPageToken; r.PageToken == "" {
			return nil
		}
		if page, err = a.Kit.Suite.Answers.ListJournal(a.Context(), r); err != nil {
			return err
		}
	}
}

func (j *journal) send(entries []*costingv1.JournalEntry) error {
	for _, e := range entries {
		for _, l := range e.Lines {
			if err := j.table.Write(j.cells(e, l)); err != nil {
				return err
			}
		}
	}
	j.table.Flush()
	return errors.Join(j.table.Error(), j.to.Flush())
}

func (j *journal) cells(e *costingv1.JournalEntry, l *costingv1.JournalEntry_Line) []string {
	account, tag := l.AccountNumber, ""
	if account == "" {
		account = l.Account
	}
	if l.Tag != 0 {
		tag = strconv.Itoa(int(l.Tag))
	}
	recorded := e.RecordTime.AsTime().UTC().Format(time.RFC3339)
	return []string{typed.Day(e.Date), e.Id, free(account), free(l.AccountTitle), plainMoney(j.voice, l.Debit), plainMoney(j.voice, l.Credit), free(e.Description),
		tag, free(l.PersonName), e.EventId, j.voice.Currency.Code, recorded, typed.Day(e.CountsOnDate)}
}
