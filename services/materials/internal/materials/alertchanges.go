package materials

import (
	"tackfree/pkg/id"
)

// AlertChange is what became of an alert.
type AlertChange string

// What becomes of alerts.
const (
	AlertRaised  AlertChange = "raised"
	AlertUpdated AlertChange = "updated" // its text or its day is another
	AlertClosed  AlertChange = "closed"  // what it warned of holds no longer
)

// OpenAlert is an alert that was raised and not closed yet.
type OpenAlert struct {
	ID id.ID
	Alert
}

// ChangedAlert is an alert as it is after a change.
type ChangedAlert struct {
	OpenAlert
	Change AlertChange
}

// alertKey is what alerts are told apart by.
type alertKey struct {
	kind AlertKind
	key  string
}

// Changes are what makes the open alerts those that are due: what is due and not open is raised
// under an id of newID, what is open and not due is closed, and what is both is updated where it
// says something else. Of two that are due for the same thing the first counts.
func Changes(open []OpenAlert, due []Alert, newID func() id.ID) (all []ChangedAlert) {
	is := make(map[alertKey]OpenAlert, len(open))
	for _, o := range open {
		is[alertKey{o.Kind, o.Key}] = o
	}
	wanted := make(map[alertKey]bool, len(due))
	for _, d := range due {
		k := alertKey{d.Kind, d.Key}
		if wanted[k] {
			continue
		}
		wanted[k] = true
		was, raised := is[k]
		switch {
		case !raised:
			all = append(all, ChangedAlert{OpenAlert{newID(), d}, AlertRaised})
		case was.Text != d.Text || !was.Due.Equal(d.Due):
			all = append(all, ChangedAlert{OpenAlert{was.ID, d}, AlertUpdated})
		}
	}
	for _, o := range open {
		if !wanted[alertKey{o.Kind, o.Key}] {
			all = append(all, ChangedAlert{o, AlertClosed})
		}
	}
	return all
}
