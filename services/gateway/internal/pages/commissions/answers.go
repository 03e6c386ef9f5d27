package commissions

import (
	"net/http"

	"tackfree/pkg/fault"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/web"
)

// movedOn says kindly that somebody else did something to the commission meanwhile; the page shows it as it is now.
func movedOn(a *web.Asked, err error) error {
	if fault.Is(err, "ETAG_MISMATCH") {
		return fault.New(fault.Conflict, "CHANGED_MEANWHILE", "%s", a.Voice.T("commissions.moved.on"))
	}
	return err
}

// answerOf reads what a client said. Fault: those of package typed.
func answerOf(a *web.Asked) (*intakev1.ClientAnswer, error) {
	f := &typed.Form{Values: a.PostForm, Voice: a.Voice}
	return &intakev1.ClientAnswer{By: f.Text("by"), How: howOf[f.Text("how")], Time: f.Instant("at"), Reason: f.Text("reason")}, f.Err()
}

func whole(a *web.Asked, field string) (int32, error) {
	f := &typed.Form{Values: a.PostForm, Voice: a.Voice}
	return f.Whole(field), f.Err()
}

// done shows the commission again where a command was refused, and else goes to it.
func done(w http.ResponseWriter, a *web.Asked, form, said string, err error) error {
	if err != nil {
		return showOneWith(w, a, form, movedOn(a, err))
	}
	return a.After(w, "/commissions/"+a.PathValue("id"), said)
}

func approve(w http.ResponseWriter, a *web.Asked) error {
	answer, err := answerOf(a)
	version, unread := whole(a, "version")
	if err == nil {
		err = unread
	}
	if err == nil {
		_, err = a.Kit.Suite.Commissions.ApproveEstimate(a.Context(), &intakev1.ApproveEstimateRequest{RequestId: a.RequestID(), Commission: name(a), Version: version, Answer: answer, Etag: a.Typed("etag")})
	}
	return done(w, a, "approve", "commissions.approved", err)
}

func decline(w http.ResponseWriter, a *web.Asked) error {
	answer, err := answerOf(a)
	version, unread := whole(a, "version")
	if err == nil {
		err = unread
	}
	if err == nil {
		_, err = a.Kit.Suite.Commissions.DeclineEstimate(a.Context(), &intakev1.DeclineEstimateRequest{RequestId: a.RequestID(), Commission: name(a), Version: version, Answer: answer, Etag: a.Typed("etag")})
	}
	return done(w, a, "decline", "commissions.declined", err)
}

func answerChange(w http.ResponseWriter, a *web.Asked) error {
	answer, err := answerOf(a)
	number, unread := whole(a, "number")
	if err == nil {
		err = unread
	}
	yes := a.Typed("answer") == "yes"
	if err == nil {
		_, err = a.Kit.Suite.Commissions.AnswerChangeOrder(a.Context(), &intakev1.AnswerChangeOrderRequest{RequestId: a.RequestID(), Commission: name(a), Number: number, Approve: yes, Answer: answer, Etag: a.Typed("etag")})
	}
	return done(w, a, "answer"+a.Typed("number"), "commissions.answered", err)
}

func bring(w http.ResponseWriter, a *web.Asked) error {
	piece, err := pieceNamed(a, a.Typed("piece"))
	if err == nil && piece == "" {
		err = fault.New(fault.Invalid, "PIECE_UNSAID", "%s", a.Voice.T("commissions.bring.which")).At("piece")
	}
	if err == nil {
		_, err = a.Kit.Suite.Commissions.BringPiece(a.Context(), &intakev1.BringPieceRequest{RequestId: a.RequestID(), Commission: name(a), Piece: piece})
	}
	return done(w, a, "bring", "commissions.brought", err)
}

func closeIt(w http.ResponseWriter, a *web.Asked) error {
	_, err := a.Kit.Suite.Commissions.FinishCommission(a.Context(), &intakev1.FinishCommissionRequest{RequestId: a.RequestID(), Commission: name(a), Reason: a.Typed("reason"), Etag: a.Typed("etag")})
	return done(w, a, "finish", "commissions.finished", err)
}

// name is that of the commission in the address.
func name(a *web.Asked) string { return "commissions/" + a.PathValue("id") }
