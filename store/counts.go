package store

import (
	"context"
	"database/sql"
	"maps"
	"sync"
)

// A counts keeps what was counted for as long as nothing was written: to count a large
// list takes longer than to read and show a page of it. Whether something was written
// the database says, whichever program wrote it.
type counts struct {
	db *sql.DB

	mu      sync.Mutex
	conn    *sql.Conn // one for good: a version can be compared with those of the same connection alone
	base    int64     // added to versions, more with each connection
	version int64
	kept    map[string]map[string]int
	hits    int // for tests
}

// mostCounts is how many answers are kept.
const mostCounts = 1000

// of returns the counts for a question, which ask answers where they are not known.
// The version is read before the counts are, so that they are never older than it.
func (c *counts) of(ctx context.Context, question string, ask func() (map[string]int, error)) (map[string]int, error) {
	version, had := c.known(ctx, question)
	if had != nil {
		return had, nil
	}
	answer, err := ask()
	if err != nil || version == 0 {
		return answer, err
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.version == version && len(c.kept) < mostCounts {
		c.kept[question] = maps.Clone(answer)
	}
	return answer, nil
}

// known returns the version that the database has, 0 where it does not say, and what
// was counted in it.
func (c *counts) known(ctx context.Context, question string) (version int64, had map[string]int) {
	c.mu.Lock()
	defer c.mu.Unlock()
	ctx = context.WithoutCancel(ctx) // one who goes away does not take the connection along
	var err error
	if c.conn == nil {
		if c.conn, err = c.db.Conn(ctx); err != nil {
			c.conn = nil
			return 0, nil
		}
		c.base += 1 << 32
	}
	if err := c.conn.QueryRowContext(ctx, `pragma data_version`).Scan(&version); err != nil {
		c.conn.Close()
		c.conn = nil
		return 0, nil
	}
	version += c.base
	if version != c.version {
		c.version, c.kept = version, map[string]map[string]int{}
	}
	if had = maps.Clone(c.kept[question]); had != nil {
		c.hits++
	}
	return version, had
}

func (c *counts) close() error {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.conn != nil {
		c.conn.Close()
		c.conn = nil
	}
	return c.db.Close()
}
