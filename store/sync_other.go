//go:build !unix

package store

// syncDir does nothing where folders cannot be synced: there renaming is as safe
// as the system makes it.
func syncDir(string) error { return nil }
