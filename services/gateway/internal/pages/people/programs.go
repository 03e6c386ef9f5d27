package people

import (
	"context"
	"net/http"
	"strings"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/clients"
	"tackfree/pkg/fault"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/web"
)

// programs are those that are let in.
type programs struct {
	Tokens []program
	Roles  []role
	// Fresh is the label of one that was just let in, and Secret is its, which nobody sees again.
	Fresh, Secret string
	Typed         program
	Usual         string // the day to which one is let in unless somebody says another
}

type program struct {
	*workflowv1.Token
	RoleWord string
	Lines    string // of what it may call; empty: what its role may
	Until    string
}

// aWhile is how long a program is let in unless somebody says otherwise.
const aWhile = 365 * 24 * time.Hour

func showPrograms(w http.ResponseWriter, a *web.Asked) error {
	return showProgramsWith(w, a, programs{}, nil)
}

func showProgramsWith(w http.ResponseWriter, a *web.Asked, it programs, refused error) error {
	all, err := tokens(a.Context(), a.Kit.Suite)
	if err != nil {
		return err
	}
	for _, t := range all {
		it.Tokens = append(it.Tokens, program{Token: t, RoleWord: wordOf(t.Role)})
	}
	it.Roles, it.Usual = roles, a.Now().Add(aWhile).In(a.Voice.Zone).Format(time.DateOnly)
	return a.ShowRefused(w, "programs", a.Voice.T("programs.title"), it, refused)
}

func tokens(ctx context.Context, s *clients.Suite) ([]*workflowv1.Token, error) {
	return clients.All(ctx, func(ctx context.Context, token string) ([]*workflowv1.Token, string, error) {
		r, err := s.SignIn.ListTokens(ctx, &workflowv1.ListTokensRequest{PageSize: many, PageToken: token})
		return r.GetTokens(), r.GetNextPageToken(), err
	})
}

// createProgram lets a program in. The answer is the only one that ever shows its secret, so it is no
// redirect: who reloads it is asked whether to send the form again, and then refused for the name is taken.
func createProgram(w http.ResponseWriter, a *web.Asked) error {
	f := &typed.Form{Values: a.PostForm, Voice: a.Voice}
	it := program{Token: &workflowv1.Token{Label: f.Text("label"), ReadOnly: f.Text("read_only") != ""}, RoleWord: f.Text("role"), Lines: f.Text("methods"), Until: f.Text("until")}
	until := typed.Noon(f.Day("until"), a.Voice.Zone)
	err := f.Err()
	if err == nil && until.IsZero() {
		err = fault.New(fault.Invalid, "DAY_MISSING", "%s", a.Voice.T("programs.until.missing"))
	}
	var r *workflowv1.CreateTokenResponse
	if err == nil {
		r, err = a.Kit.Suite.SignIn.CreateToken(a.Context(), &workflowv1.CreateTokenRequest{Label: it.Label, Role: roleOf(it.RoleWord), ReadOnly: it.ReadOnly,
			Methods: strings.Fields(it.Lines), ExpireTime: timestamppb.New(until)})
	}
	if fault.Of(err) != nil {
		return showProgramsWith(w, a, programs{Typed: it}, err)
	}
	if err != nil {
		return err
	}
	return showProgramsWith(w, a, programs{Fresh: r.Token.Label, Secret: r.Secret}, nil)
}

func revokeProgram(w http.ResponseWriter, a *web.Asked) error {
	_, err := a.Kit.Suite.SignIn.RevokeToken(a.Context(), &workflowv1.RevokeTokenRequest{RequestId: a.RequestID(), Token: a.Typed("token")})
	if fault.Of(err) != nil {
		return showProgramsWith(w, a, programs{}, err)
	}
	if err != nil {
		return err
	}
	return a.After(w, "/people/programs", "programs.revoked")
}
