package store

import (
	"os"
	"testing"
)

// atEnd is what is to be done when all tests have run.
var atEnd []func()

func TestMain(m *testing.M) {
	if os.Getenv(childEnv) != "" {
		child()
		return
	}
	code := m.Run()
	for _, end := range atEnd {
		end()
	}
	os.Exit(code)
}
