package store

import (
	"context"
	"errors"
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"
)

// Options say how a store is opened. The zero value will do.
type Options struct {
	// Log is told of migrations and backups; nil: nobody.
	Log *slog.Logger

	migrations fs.FS // in tests, those of another version of the program
}

// Open opens the store in a data folder, or with an address that begins with
// postgres:// the one in that database.
func Open(ctx context.Context, dirOrURL string, o Options) (Store, error) {
	if isPostgres(dirOrURL) {
		return OpenPostgres(ctx, dirOrURL, o)
	}
	return OpenSQLite(ctx, dirOrURL, o)
}

// Holds tells whether a folder holds a store.
func Holds(dir string) (bool, error) {
	_, err := os.Stat(filepath.Join(dir, sqliteFile))
	if errors.Is(err, fs.ErrNotExist) {
		return false, nil
	}
	return err == nil, err
}
