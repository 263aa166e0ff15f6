package store

import (
	"context"
	"database/sql"
	"errors"

	"underpin/record"
)

const jobCells = `id, kind, coalesce(key, ''), args, run_at, attempts, lease, state, note`

func scanJob(rows interface{ Scan(...any) error }) (Job, error) {
	var j Job
	err := rows.Scan(&j.ID, &j.Kind, &j.Key, (*[]byte)(&j.Args), (*int64)(&j.RunAt), &j.Attempts, (*int64)(&j.Lease), &j.State, &j.Note)
	return j, err
}

func (s *sqlStore) Enqueue(ctx context.Context, j Job) (bool, error) {
	var fresh bool
	err := s.write(ctx, "queue a job", func(t *tx) (err error) {
		fresh, err = t.enqueue(j)
		return err
	})
	return fresh, err
}

func (t *tx) enqueue(j Job) (bool, error) {
	key := sql.NullString{String: j.Key, Valid: j.Key != ""}
	n, err := t.exec(`insert into job (kind, key, args, run_at, attempts, lease, state, ended, note) values ($1, $2, $3, $4, 0, 0, 'queued', 0, '')
		on conflict (kind, key) do nothing`, j.Kind, key, raw(j.Args), int64(j.RunAt))
	return n > 0, err
}

func (s *sqlStore) Claim(ctx context.Context, kinds []string, now, lease record.Time) (*Job, error) {
	if len(kinds) == 0 {
		return nil, nil
	}
	var c clause
	c.args = args(int64(now), int64(lease))
	addIn(&c, "kind", kinds)
	var j Job
	err := s.write(ctx, "claim a job", func(t *tx) (err error) {
		row := t.QueryRowContext(ctx, s.text(`update job set state = 'running', lease = $2, attempts = attempts + 1
			where id = (select id from job where `+c.String()+` and (state = 'queued' and run_at <= $1 or state = 'running' and lease < $1)
			order by run_at, id limit 1 for update skip locked) returning `+jobCells), c.args...)
		j, err = scanJob(row)
		return err
	})
	if errors.Is(err, ErrNotFound) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	return &j, nil
}

// mine changes a job that is still claimed by the caller: nobody claimed it since.
func (s *sqlStore) mine(ctx context.Context, doing string, j *Job, set string, values ...any) error {
	return s.write(ctx, doing, func(t *tx) error {
		n, err := t.exec(`update job set `+set+` where id = $1 and attempts = $2 and state = 'running'`, append(args(j.ID, j.Attempts), values...)...)
		if err == nil && n == 0 {
			err = ErrLostClaim
		}
		return err
	})
}

func (s *sqlStore) Extend(ctx context.Context, j *Job, lease record.Time) error {
	return s.mine(ctx, "hold a job", j, `lease = $3`, int64(lease))
}

func (s *sqlStore) Finish(ctx context.Context, j *Job, now record.Time) error {
	return s.mine(ctx, "finish a job", j, `state = 'done', ended = $3`, int64(now))
}

func (s *sqlStore) Retry(ctx context.Context, j *Job, at, now record.Time, why string) error {
	if at == 0 {
		return s.mine(ctx, "give up a job", j, `state = 'failed', ended = $3, note = $4`, int64(now), why)
	}
	return s.mine(ctx, "give a job back", j, `state = 'queued', run_at = $3, note = $4`, int64(at), why)
}

func (s *sqlStore) Jobs(ctx context.Context, state string, limit int) ([]Job, error) {
	return collect(ctx, s, "jobs", `select `+jobCells+` from job where state = $1 or $1 = '' order by id desc limit $2`, args(state, limit),
		func(rows *sql.Rows) (Job, error) { return scanJob(rows) })
}
