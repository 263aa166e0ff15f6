-- +goose Up

-- Records. A chain's row is its head; what was entered is never changed.
create table chain (
	no      integer primary key,
	asset   text    not null unique,
	seq     integer not null,
	digest  blob    not null,
	entered integer not null,            -- microseconds since 1970, UTC, as everywhere
	sealed  integer not null default 0   -- how far a seal covers it
) strict;

create table record (
	n      integer primary key,          -- order of entry
	chain  integer not null references chain (no),
	seq    integer not null,
	id     text    not null unique,
	kind   text    not null,
	digest blob    not null,
	bytes  blob    not null,
	unique (chain, seq)
) strict;

create table seal (
	number    integer primary key,
	bytes     blob not null,
	signature blob not null
) strict;

-- +goose StatementBegin
create trigger record_stays before update on record begin select raise(abort, 'records are never changed'); end;
-- +goose StatementEnd
-- +goose StatementBegin
create trigger record_remains before delete on record begin select raise(abort, 'records are never removed'); end;
-- +goose StatementEnd
-- +goose StatementBegin
create trigger seal_stays before update on seal begin select raise(abort, 'seals are never changed'); end;
-- +goose StatementEnd
-- +goose StatementBegin
create trigger seal_remains before delete on seal begin select raise(abort, 'seals are never removed'); end;
-- +goose StatementEnd

-- Cached state, which follows from the records.
create table entity (
	n      integer primary key,
	kind   text    not null,
	id     text    not null,
	rev    integer not null,
	title  text    not null,
	sort   text    not null,             -- empty: not in lists
	depot  text    not null,
	status text    not null,
	due    integer not null,             -- 0: nothing is due
	at     integer not null,
	line   blob    not null,
	words  text    not null,             -- normal form of what it is found by
	found  text    not null,             -- normal form of the title
	refs   text    not null,             -- what stands in entity_ref of it, one a line
	keys   text    not null,             -- and in entity_key
	state  blob    not null,
	unique (kind, id)
) strict;

create index entity_list on entity (kind, sort, id, status, depot) where sort <> '';
create index entity_status on entity (kind, status, sort, id, depot) where sort <> '';
create index entity_depot on entity (kind, depot, status, sort, id) where sort <> '';
create index entity_due on entity (kind, due, id, status, depot) where due <> 0;
create index entity_title on entity (found, sort, kind, id) where sort <> '';

create virtual table entity_text using fts5 (words, content = '', contentless_delete = 1, tokenize = 'trigram case_sensitive 1');

create table entity_ref (
	ref    text not null,
	kind   text not null,
	at     integer not null,
	n      integer not null,
	status text not null,
	primary key (ref, kind, at, n)
) strict, without rowid;

create table entity_key (
	key text not null primary key,
	n   integer not null
) strict, without rowid;

-- Readings.
create table meter (
	no    integer primary key,
	asset text not null,
	name  text not null,
	unique (asset, name)
) strict;

create table delivery (
	no      integer primary key,
	id      text    not null unique,
	entered integer not null,
	account text    not null,
	name    text    not null,
	source  text    not null,
	added   integer not null
) strict;

create table reading (
	meter    integer not null,
	at       integer not null,
	metres   integer not null,
	unit     integer not null,           -- as given: 0 m, 1 km, 2 mi
	delivery integer not null,
	primary key (meter, at, metres)
) strict, without rowid;

-- +goose StatementBegin
create trigger reading_stays before update on reading begin select raise(abort, 'readings are never changed'); end;
-- +goose StatementEnd
-- +goose StatementBegin
create trigger reading_remains before delete on reading begin select raise(abort, 'readings are never removed'); end;
-- +goose StatementEnd

-- Photos and documents; their content lies in the folder blobs.
create table blob (
	digest blob    not null primary key,
	bytes  integer not null
) strict, without rowid;

-- What people and programs sign in with.
create table secret (
	account text    not null,
	kind    text    not null,
	value   text    not null,
	changed integer not null,
	expires integer not null,            -- 0: never
	primary key (account, kind)
) strict, without rowid;

create index secret_value on secret (kind, value);

create table session (
	token   blob    not null primary key,
	account text    not null,
	data    blob    not null,
	created integer not null,
	seen    integer not null,
	expires integer not null
) strict, without rowid;

create index session_account on session (account, created);
create index session_expires on session (expires);

create table token (
	id      text    not null primary key,
	account text    not null,
	hash    blob    not null unique,
	title   text    not null,
	scopes  text    not null,            -- a JSON array
	created integer not null,
	expires integer not null,
	revoked integer not null,            -- 0: in force
	used    integer not null
) strict, without rowid;

create index token_account on token (account, created);

create table setting (
	name  text not null primary key,
	value text not null
) strict, without rowid;

-- Jobs, claimed by leases.
create table job (
	id       integer primary key,
	kind     text    not null,
	key      text,                       -- null: none is the same
	args     blob    not null,
	run_at   integer not null,
	attempts integer not null,
	lease    integer not null,
	state    text    not null,
	ended    integer not null,           -- when it was done or given up
	note     text    not null,
	unique (kind, key)
) strict;

create index job_queued on job (run_at, id) where state = 'queued';
create index job_running on job (lease) where state = 'running';
