package server

import (
	"tackfree/pkg/access"
	"tackfree/pkg/id"
	"tackfree/pkg/wire"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/workflow"
)

var roles = map[workflow.Role]typev1.Role{
	workflow.RoleHelper: typev1.Role_ROLE_HELPER, workflow.RoleLead: typev1.Role_ROLE_LEAD, workflow.RoleOwner: typev1.Role_ROLE_OWNER,
}

func encodeRole(r workflow.Role) typev1.Role { return roles[r] }

func decodeRole(r typev1.Role) workflow.Role {
	for role, said := range roles {
		if said == r {
			return role
		}
	}
	return ""
}

// admit lets a session in for the next minutes.
func (s *Server) admit(n workflow.Session) (*workflowv1.Admission, error) {
	out := &workflowv1.Admission{Session: sessionName(n), DisplayName: n.Name(), Role: encodeRole(n.Role), ReadOnly: n.ReadOnly, SessionExpireTime: wire.ToInstant(n.Expires)}
	if !n.Program() {
		out.Person = id.Name("people", n.Person.ID)
	}
	token, expires, err := s.Key.Sign(access.Claims{Person: out.Person, Name: out.DisplayName, Session: out.Session, Role: out.Role, ReadOnly: n.ReadOnly,
		Methods: n.Methods, Expires: n.Expires}, s.Shop.Now())
	out.AccessToken, out.AccessExpireTime = token, wire.ToInstant(expires)
	return out, err
}

func sessionName(n workflow.Session) string {
	if n.Program() {
		return id.Name("tokens", n.ID)
	}
	return id.Name("sessions", n.ID)
}

func encodeSession(n workflow.Session) *workflowv1.Session {
	return &workflowv1.Session{Name: sessionName(n), Person: id.Name("people", n.Person.ID), PersonName: n.Person.Name, Device: n.Label,
		CreateTime: wire.ToInstant(n.Created), UseTime: wire.ToInstant(n.Used), ExpireTime: wire.ToInstant(n.Expires)}
}

func encodeToken(n workflow.Session) *workflowv1.Token {
	return &workflowv1.Token{Name: sessionName(n), Label: n.Label, Role: encodeRole(n.Role), ReadOnly: n.ReadOnly, Methods: n.Methods, Actor: n.Actor,
		CreateTime: wire.ToInstant(n.Created), UseTime: wire.ToInstant(n.Used), ExpireTime: wire.ToInstant(n.Expires)}
}
