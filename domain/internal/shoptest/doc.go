// Package shoptest makes shops for tests: out of journals that a foreman could read, as
// a careless shop might record them, or as busy ones do. Only tests import it.
package shoptest
