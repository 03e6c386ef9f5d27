package cli

import (
	"context"

	"google.golang.org/grpc"
	"google.golang.org/grpc/metadata"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// door lets people and programs in as the fake does other things.
type door struct {
	workflowv1.UnimplementedSignInServiceServer
	f       *fake
	renewed int    // how often access was
	secret  string // that is good
}

func (d *door) register(s grpc.ServiceRegistrar) { workflowv1.RegisterSignInServiceServer(s, d) }

// keep keeps a command that has no request id.
func keep[M proto.Message](f *fake, r proto.Message, answer M) (M, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.got = append(f.got, r)
	return answer, f.fails
}

func (d *door) SetRole(_ context.Context, r *workflowv1.SetRoleRequest) (*workflowv1.SetRoleResponse, error) {
	return note(d.f, r, &workflowv1.SetRoleResponse{})
}

func (d *door) UnlockSignIn(_ context.Context, r *workflowv1.UnlockSignInRequest) (*workflowv1.UnlockSignInResponse, error) {
	return note(d.f, r, &workflowv1.UnlockSignInResponse{})
}

func (d *door) SetPin(_ context.Context, r *workflowv1.SetPinRequest) (*workflowv1.SetPinResponse, error) {
	return keep(d.f, r, &workflowv1.SetPinResponse{})
}

func (d *door) SetPassphrase(_ context.Context, r *workflowv1.SetPassphraseRequest) (*workflowv1.SetPassphraseResponse, error) {
	return keep(d.f, r, &workflowv1.SetPassphraseResponse{})
}

func (d *door) ResetOwner(_ context.Context, r *workflowv1.ResetOwnerRequest) (*workflowv1.ResetOwnerResponse, error) {
	return keep(d.f, r, &workflowv1.ResetOwnerResponse{})
}

func (d *door) ClaimShop(_ context.Context, r *workflowv1.ClaimShopRequest) (*workflowv1.ClaimShopResponse, error) {
	return keep(d.f, r, &workflowv1.ClaimShopResponse{Admission: &workflowv1.Admission{DisplayName: r.DisplayName, SessionSecret: "of the session", AccessToken: "of the access"}})
}

func (d *door) SignOut(_ context.Context, r *workflowv1.SignOutRequest) (*workflowv1.SignOutResponse, error) {
	return keep(d.f, r, &workflowv1.SignOutResponse{})
}

func (d *door) CreateToken(_ context.Context, r *workflowv1.CreateTokenRequest) (*workflowv1.CreateTokenResponse, error) {
	return keep(d.f, r, &workflowv1.CreateTokenResponse{Token: &workflowv1.Token{Label: r.Label}, Secret: "tackfree_shownonce"})
}

func (d *door) ListTokens(context.Context, *workflowv1.ListTokensRequest) (*workflowv1.ListTokensResponse, error) {
	until := &timestamppb.Timestamp{Seconds: 1772463600}
	return &workflowv1.ListTokensResponse{Tokens: []*workflowv1.Token{
		{Name: "tokens/2", Label: "Shop window", Role: typev1.Role_ROLE_HELPER, ReadOnly: true, Methods: []string{"tackfree.intake.v1.IntakeService"}, Actor: "Odile", ExpireTime: until},
		{Name: "tokens/1", Label: "Till", Role: typev1.Role_ROLE_LEAD, Actor: "Odile", UseTime: until, ExpireTime: until}}}, nil
}

func (d *door) RevokeToken(_ context.Context, r *workflowv1.RevokeTokenRequest) (*workflowv1.RevokeTokenResponse, error) {
	return note(d.f, r, &workflowv1.RevokeTokenResponse{})
}

func (d *door) ListSessions(_ context.Context, r *workflowv1.ListSessionsRequest) (*workflowv1.ListSessionsResponse, error) {
	at := &timestamppb.Timestamp{Seconds: 1772463600}
	return asked(d.f, r, &workflowv1.ListSessionsResponse{Sessions: []*workflowv1.Session{
		{Name: "sessions/2", Person: "people/n", PersonName: "Nell", Device: "phone", CreateTime: at, UseTime: at, ExpireTime: at},
		{Name: "sessions/1", Person: "people/n", PersonName: "Nell", CreateTime: at, UseTime: at, ExpireTime: at}}})
}

func (d *door) EndSession(_ context.Context, r *workflowv1.EndSessionRequest) (*workflowv1.EndSessionResponse, error) {
	return note(d.f, r, &workflowv1.EndSessionResponse{})
}

func (d *door) RenewAccess(ctx context.Context, r *workflowv1.RenewAccessRequest) (*workflowv1.RenewAccessResponse, error) {
	if md, _ := metadata.FromIncomingContext(ctx); len(md.Get("authorization")) > 0 {
		return nil, fault.New(fault.Internal, "TOKEN_SENT", "A call that renews access brings none.")
	}
	d.f.mu.Lock()
	defer d.f.mu.Unlock()
	if d.renewed++; r.Secret != d.secret {
		return nil, fault.New(fault.Unauthenticated, "SESSION_ENDED", "This session has ended. Sign in again.")
	}
	return &workflowv1.RenewAccessResponse{Admission: &workflowv1.Admission{AccessToken: "a.b.c", AccessExpireTime: &timestamppb.Timestamp{Seconds: 1 << 40}}}, nil
}
