package kind

import "slices"

// Roles of people, see Roles.
const (
	Coater  = "coater"
	Clerk   = "clerk"
	Manager = "manager"
)

// May tells whether a role may record a kind of entry. An unknown kind is
// nobody's.
func May(role, name string) bool {
	k := kinds[name]
	return k != nil && slices.Index(Roles, role) >= slices.Index(Roles, k.By)
}

// SeesPrices tells whether a role may see what is for the office only: prices.
func SeesPrices(role string) bool { return role == Manager }
