package store

import (
	"context"
	"database/sql"
	"embed"
	"fmt"
	"io/fs"
	"time"

	"github.com/pressly/goose/v3"
	"github.com/pressly/goose/v3/lock"
)

// Migrations are never edited once they were released; a test holds their
// digests. The two folders have the same numbers.
//
//go:embed migrations
var migrations embed.FS

func migrationsOf(engine string) fs.FS {
	dir, err := fs.Sub(migrations, "migrations/"+engine)
	if err != nil {
		panic(err) // the folder is embedded
	}
	return dir
}

// A migration brings a schema up to date.
type migration struct {
	*goose.Provider
	has, known int64
}

// newMigration looks how old the schema is. A newer one than this program knows
// is refused.
func newMigration(ctx context.Context, engine string, db *sql.DB, o Options) (*migration, error) {
	from := o.migrations
	if from == nil {
		from = migrationsOf(engine)
	}
	dialect, options := goose.DialectSQLite3, []goose.ProviderOption{goose.WithDisableGlobalRegistry(true)}
	if engine == "postgres" {
		dialect = goose.DialectPostgres
		locker, err := lock.NewPostgresSessionLocker() // several copies may start at once
		if err != nil {
			return nil, err
		}
		options = append(options, goose.WithSessionLocker(locker))
	}
	p, err := goose.NewProvider(dialect, db, from, options...)
	if err != nil {
		return nil, err
	}
	m := &migration{Provider: p}
	if m.has, m.known, err = p.GetVersions(ctx); err != nil {
		return nil, fmt.Errorf("version of the schema: %w", err)
	}
	if m.has > m.known {
		return nil, &NewerSchema{Has: m.has, Known: m.known}
	}
	return m, nil
}

// up runs what is pending. Another copy of the program may do so at the same
// time; then this one waits for it.
func (m *migration) up(ctx context.Context) error {
	var err error
	for try := range 20 {
		if try > 0 {
			select {
			case <-ctx.Done():
				return ctx.Err()
			case <-time.After(100 * time.Millisecond):
			}
		}
		if _, err = m.Up(ctx); err == nil {
			return nil
		}
		if has, known, look := m.GetVersions(ctx); look == nil && has == known {
			return nil // the other one did it
		}
	}
	return err
}
