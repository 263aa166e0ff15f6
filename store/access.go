package store

import (
	"context"
	"database/sql"
	"encoding/json"

	"underpin/record"
)

const secretCells = `account, kind, value, changed, expires`

func secretInto(s *Secret) []any {
	return args((*string)(&s.Account), &s.Kind, &s.Value, (*int64)(&s.Changed), (*int64)(&s.Expires))
}

func (s *sqlStore) Secret(ctx context.Context, account record.Asset, kind string) (Secret, error) {
	var v Secret
	err := s.get(ctx, "secret of "+string(account), `select `+secretCells+` from secret where account = $1 and kind = $2`, args(string(account), kind), secretInto(&v)...)
	return v, err
}

func (s *sqlStore) SecretByValue(ctx context.Context, kind, value string) (Secret, error) {
	var v Secret
	err := s.get(ctx, "secret", `select `+secretCells+` from secret where kind = $1 and value = $2`, args(kind, value), secretInto(&v)...)
	return v, err
}

func (s *sqlStore) PutSecret(ctx context.Context, v Secret) error {
	return s.write(ctx, "keep a secret", func(t *tx) error { return t.putSecret(v) })
}

func (t *tx) putSecret(v Secret) error {
	_, err := t.exec(`insert into secret (account, kind, value, changed, expires) values ($1, $2, $3, $4, $5)
		on conflict (account, kind) do update set value = excluded.value, changed = excluded.changed, expires = excluded.expires`,
		string(v.Account), v.Kind, v.Value, int64(v.Changed), int64(v.Expires))
	return err
}

func (s *sqlStore) DropSecret(ctx context.Context, account record.Asset, kind string) (bool, error) {
	var n int64
	err := s.write(ctx, "drop a secret", func(t *tx) (err error) {
		n, err = t.exec(`delete from secret where account = $1 and kind = $2`, string(account), kind)
		return err
	})
	return n > 0, err
}

const sessionCells = `token, account, data, created, seen, expires`

func scanSession(rows interface{ Scan(...any) error }) (Session, error) {
	var v Session
	var token []byte
	err := rows.Scan(&token, (*string)(&v.Account), &v.Data, (*int64)(&v.Created), (*int64)(&v.Seen), (*int64)(&v.Expires))
	if err == nil {
		v.Data = raw(v.Data) // one engine gives nil for nothing, the other an empty slice
		v.Token, err = digestOf(token)
	}
	return v, err
}

func (s *sqlStore) PutSession(ctx context.Context, v Session) error {
	return s.write(ctx, "keep a session", func(t *tx) error {
		_, err := t.exec(`insert into session (token, account, data, created, seen, expires) values ($1, $2, $3, $4, $5, $6)
			on conflict (token) do update set account = excluded.account, data = excluded.data, seen = excluded.seen, expires = excluded.expires`,
			v.Token[:], string(v.Account), raw(v.Data), int64(v.Created), int64(v.Seen), int64(v.Expires))
		return err
	})
}

func (s *sqlStore) Session(ctx context.Context, token record.Digest, now record.Time) (Session, error) {
	v, err := scanSession(s.r.QueryRowContext(ctx, `select `+sessionCells+` from session where token = $1 and expires > $2`, token[:], int64(now)))
	return v, s.fail("session", err)
}

func (s *sqlStore) DropSession(ctx context.Context, token record.Digest) error {
	return s.write(ctx, "end a session", func(t *tx) error {
		_, err := t.exec(`delete from session where token = $1`, token[:])
		return err
	})
}

func (s *sqlStore) Sessions(ctx context.Context, account record.Asset) ([]Session, error) {
	return collect(ctx, s, "sessions", `select `+sessionCells+` from session where account = $1 or $1 = '' order by created desc, token`, args(string(account)),
		func(rows *sql.Rows) (Session, error) { return scanSession(rows) })
}

func (s *sqlStore) DropSessions(ctx context.Context, account record.Asset) error {
	return s.write(ctx, "end sessions", func(t *tx) error {
		_, err := t.exec(`delete from session where account = $1`, string(account))
		return err
	})
}

const tokenCells = `id, account, hash, title, scopes, created, expires, revoked, used`

func scanToken(rows interface{ Scan(...any) error }) (Token, error) {
	var v Token
	var hash []byte
	var scopes string
	err := rows.Scan((*string)(&v.ID), (*string)(&v.Account), &hash, &v.Title, &scopes, (*int64)(&v.Created), (*int64)(&v.Expires), (*int64)(&v.Revoked), (*int64)(&v.Used))
	if err != nil {
		return v, err
	}
	if v.Hash, err = digestOf(hash); err != nil {
		return v, err
	}
	return v, json.Unmarshal([]byte(scopes), &v.Scopes)
}

// putToken stores a token, or what changed of it.
func (t *tx) putToken(v Token) error {
	scopes, err := json.Marshal(v.Scopes)
	if err != nil {
		return err
	}
	_, err = t.exec(`insert into token (id, account, hash, title, scopes, created, expires, revoked, used) values ($1, $2, $3, $4, $5, $6, $7, $8, $9)
		on conflict (id) do update set title = excluded.title, scopes = excluded.scopes, expires = excluded.expires, revoked = excluded.revoked`,
		string(v.ID), string(v.Account), v.Hash[:], v.Title, string(scopes), int64(v.Created), int64(v.Expires), int64(v.Revoked), int64(v.Used))
	return err
}

func (s *sqlStore) Token(ctx context.Context, hash record.Digest) (Token, error) {
	v, err := scanToken(s.r.QueryRowContext(ctx, `select `+tokenCells+` from token where hash = $1`, hash[:]))
	return v, s.fail("token", err)
}

func (s *sqlStore) Tokens(ctx context.Context, account record.Asset) ([]Token, error) {
	return collect(ctx, s, "tokens", `select `+tokenCells+` from token where account = $1 or $1 = '' order by created desc, id`, args(string(account)),
		func(rows *sql.Rows) (Token, error) { return scanToken(rows) })
}

func (s *sqlStore) TouchToken(ctx context.Context, id record.ID, at record.Time) error {
	return s.write(ctx, "note a token's use", func(t *tx) error {
		_, err := t.exec(`update token set used = $2 where id = $1 and used < $2`, string(id), int64(at))
		return err
	})
}

func (s *sqlStore) Setting(ctx context.Context, name string) (string, error) {
	return collectOne(ctx, s, "setting "+name, `select value from setting where name = $1`, name)
}

// collectOne reads one text, empty when there is none.
func collectOne(ctx context.Context, s *sqlStore, doing, q, name string) (string, error) {
	all, err := collect(ctx, s, doing, q, args(name), func(rows *sql.Rows) (v string, err error) { return v, rows.Scan(&v) })
	if len(all) == 0 {
		return "", err
	}
	return all[0], err
}

func (s *sqlStore) PutSetting(ctx context.Context, name, value string) error {
	return s.write(ctx, "keep setting "+name, func(t *tx) error {
		_, err := t.exec(`insert into setting (name, value) values ($1, $2) on conflict (name) do update set value = excluded.value`, name, value)
		return err
	})
}

func (s *sqlStore) ClaimSetting(ctx context.Context, name, value string) (string, error) {
	err := s.write(ctx, "keep setting "+name, func(t *tx) error {
		if _, err := t.exec(`insert into setting (name, value) values ($1, $2) on conflict (name) do nothing`, name, value); err != nil {
			return err
		}
		return t.one(`select value from setting where name = $1`, args(name), &value)
	})
	return value, err
}

func (s *sqlStore) Purge(ctx context.Context, now, jobs record.Time) error {
	return s.write(ctx, "forget what expired", func(t *tx) error {
		if _, err := t.exec(`delete from session where expires <= $1`, int64(now)); err != nil {
			return err
		}
		if _, err := t.exec(`delete from secret where expires <> 0 and expires <= $1`, int64(now)); err != nil {
			return err
		}
		_, err := t.exec(`delete from job where state in ('done', 'failed') and ended < $1`, int64(jobs))
		return err
	})
}
