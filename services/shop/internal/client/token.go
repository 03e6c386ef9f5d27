package client

import (
	"context"
	"errors"
	"time"

	"google.golang.org/grpc"

	"tackfree/pkg/access"
	"tackfree/pkg/grpcx"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// DialWithSecret makes the clients as Dial does, for the program or the session that has a secret: each call
// brings an access token, which is renewed by itself.
func DialWithSecret(targets map[string]string, secret string) (*Shop, error) {
	if targets["workflow"] == "" {
		return nil, errors.New("a token is made good by workflow: say where it serves with --workflow-addr")
	}
	conn, err := grpcx.Dial(targets["workflow"])
	if err != nil {
		return nil, err
	}
	signIn := workflowv1.NewSignInServiceClient(conn)
	token := access.Fresh(func(ctx context.Context) (string, time.Time, error) {
		r, err := signIn.RenewAccess(ctx, &workflowv1.RenewAccessRequest{Secret: secret})
		return r.GetAdmission().GetAccessToken(), r.GetAdmission().GetAccessExpireTime().AsTime(), err
	}, time.Now)
	s, err := Dial(targets, grpcx.WithTokens(token))
	if err != nil {
		return nil, errors.Join(err, conn.Close())
	}
	s.conns = append(s.conns, conn)
	return s, nil
}

// DialWithKey makes the clients as Dial does, for whoever has the key of the shop's access tokens: they may do
// all that can be done on its own machine.
func DialWithKey(targets map[string]string, file string) (*Shop, error) {
	key, err := access.Load(file)
	if err != nil {
		return nil, err
	}
	var options []grpc.DialOption
	if key.Signs() {
		options = append(options, grpcx.WithTokens(key.ForService("shop", time.Now)))
	}
	return Dial(targets, options...)
}
