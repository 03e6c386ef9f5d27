package people_test

import (
	"context"

	"google.golang.org/grpc"
	"google.golang.org/protobuf/types/known/timestamppb"

	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

type signIn struct {
	workflowv1.SignInServiceClient
	*crew
}

func (c signIn) ListSessions(_ context.Context, r *workflowv1.ListSessionsRequest, _ ...grpc.CallOption) (*workflowv1.ListSessionsResponse, error) {
	if err := c.ask("ListSessions", r); err != nil {
		return nil, err
	}
	return &workflowv1.ListSessionsResponse{Sessions: []*workflowv1.Session{{Name: "sessions/1", Device: "yard <tablet>"}}}, nil
}

func (c signIn) EndSession(_ context.Context, r *workflowv1.EndSessionRequest, _ ...grpc.CallOption) (*workflowv1.EndSessionResponse, error) {
	return &workflowv1.EndSessionResponse{}, c.ask("EndSession", r)
}

func (c signIn) SetPin(_ context.Context, r *workflowv1.SetPinRequest, _ ...grpc.CallOption) (*workflowv1.SetPinResponse, error) {
	return &workflowv1.SetPinResponse{}, c.ask("SetPin", r)
}

func (c signIn) SetPassphrase(_ context.Context, r *workflowv1.SetPassphraseRequest, _ ...grpc.CallOption) (*workflowv1.SetPassphraseResponse, error) {
	return &workflowv1.SetPassphraseResponse{}, c.ask("SetPassphrase", r)
}

func (c signIn) SetRole(_ context.Context, r *workflowv1.SetRoleRequest, _ ...grpc.CallOption) (*workflowv1.SetRoleResponse, error) {
	return &workflowv1.SetRoleResponse{}, c.ask("SetRole", r)
}

func (c signIn) UnlockSignIn(_ context.Context, r *workflowv1.UnlockSignInRequest, _ ...grpc.CallOption) (*workflowv1.UnlockSignInResponse, error) {
	return &workflowv1.UnlockSignInResponse{}, c.ask("UnlockSignIn", r)
}

func (c signIn) ListTokens(context.Context, *workflowv1.ListTokensRequest, ...grpc.CallOption) (*workflowv1.ListTokensResponse, error) {
	return &workflowv1.ListTokensResponse{Tokens: []*workflowv1.Token{{Name: "tokens/1", Label: "scales", Role: typev1.Role_ROLE_HELPER, ReadOnly: true, Actor: "Nadia", CreateTime: timestamppb.New(noon), ExpireTime: timestamppb.New(noon)}}}, nil
}

func (c signIn) CreateToken(_ context.Context, r *workflowv1.CreateTokenRequest, _ ...grpc.CallOption) (*workflowv1.CreateTokenResponse, error) {
	if err := c.ask("CreateToken", r); err != nil {
		return nil, err
	}
	return &workflowv1.CreateTokenResponse{Token: &workflowv1.Token{Label: r.Label}, Secret: "tackfree_abc"}, nil
}

func (c signIn) RevokeToken(_ context.Context, r *workflowv1.RevokeTokenRequest, _ ...grpc.CallOption) (*workflowv1.RevokeTokenResponse, error) {
	return &workflowv1.RevokeTokenResponse{}, c.ask("RevokeToken", r)
}
