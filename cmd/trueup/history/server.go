package history

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net"
	"net/url"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/stdlib"

	"trueup/profiles/oserror"
)

// Server is the PostgreSQL that several machines keep the same tables in. It holds what machines sent to it, also of journals that are gone
// from them since. It is used by one goroutine.
type Server struct {
	tables
	name string
}

// Access is how a server is reached. Address is a postgres:// URL without a password; what it leaves open comes from the PG... variables of the
// environment and from the password file, as with every PostgreSQL client. User and Password, where they are not empty, go over those.
type Access struct{ Address, User, Password string }

// How long a server may take: to let us in, to answer one statement, to give way to another machine, and before it ends what a machine left open.
const (
	connectPatience   = 3 * time.Second
	statementPatience = 5 * time.Second
	lockPatience      = 3 * time.Second
	idlePatience      = 15 * time.Second
)

// CheckAddress refuses what is no address of a server, or has a password in it, without saying any of it again.
func CheckAddress(address string) error {
	u, err := url.Parse(address)
	if err != nil || !strings.HasPrefix(address, u.Scheme+"://") || u.Scheme != "postgres" && u.Scheme != "postgresql" {
		return errors.New("it is no address like postgres://host:5432/database; a mark like / ? # @ within a name is written as its code (%2F)")
	}
	_, said := u.User.Password()
	for key := range u.Query() {
		said = said || strings.Contains(strings.ToLower(key), "password")
	}
	if said || strings.Contains(u.Path, "@") || strings.Contains(u.RawQuery, "@") || u.Fragment != "" {
		return errors.New("a password does not belong into the address, but into the secrets of this machine (secrets.yaml), PGPASSWORD or the password file")
	}
	return nil
}

// Connect opens the tables on a server, and makes them where they are not there yet. It waits for a few seconds at most.
func Connect(ctx context.Context, a Access) (*Server, error) {
	if err := CheckAddress(a.Address); err != nil {
		return nil, err
	}
	address := a.Address
	if u, err := url.Parse(address); err == nil && a.User != "" {
		u.User = url.User(a.User) // before the password file is asked
		address = u.String()
	}
	cfg, err := pgx.ParseConfig(address)
	if err != nil {
		var parse *pgconn.ParseConfigError
		if errors.As(err, &parse) && errors.Unwrap(parse) != nil {
			err = errors.Unwrap(parse) // without the address, and what the environment adds to it
		}
		return nil, fmt.Errorf("the address, or what PG... variables add to it, can not be used: %w", err)
	}
	if a.Password != "" {
		cfg.Password = a.Password
	}
	if cfg.ConnectTimeout <= 0 || cfg.ConnectTimeout > connectPatience {
		cfg.ConnectTimeout = connectPatience
	}
	for name, value := range map[string]string{
		"application_name": "trueup", "search_path": pgSchema,
		"statement_timeout": ms(statementPatience), "lock_timeout": ms(lockPatience), "idle_in_transaction_session_timeout": ms(idlePatience),
	} {
		cfg.RuntimeParams[name] = value
	}
	s := &Server{name: fmt.Sprintf("the history database %q at %s", cfg.Database, cfg.Host)}
	s.tables = tables{stdlib.OpenDB(*cfg), s.says}
	s.db.SetMaxOpenConns(1)
	ctx, cancel := context.WithTimeout(ctx, 2*connectPatience+statementPatience)
	defer cancel()
	if err := s.ready(ctx); err != nil {
		s.db.Close()
		return nil, s.says(err)
	}
	return s, nil
}

func ms(d time.Duration) string { return fmt.Sprint(d.Milliseconds()) }

// Close ends the connection.
func (s *Server) Close() error { return s.db.Close() }

// pgSchema holds the tables of this version. Those of another version lie beside and stay as they are: programs of both versions can work side by
// side, and each machine sends what its journals say to the tables of its own.
var pgSchema = fmt.Sprintf("trueup_history_%d", version)

// ready makes the tables that are not there. A user who may not make any can work with those that are.
func (s *Server) ready(ctx context.Context) error {
	var there bool
	const ask = "SELECT EXISTS (SELECT 1 FROM pg_catalog.pg_tables WHERE schemaname = $1 AND tablename = 'run')" // to_regclass answers from a cache
	if err := s.db.QueryRowContext(ctx, ask, pgSchema).Scan(&there); err != nil || there {
		return err
	}
	return s.within(ctx, func(tx *sql.Tx) error {
		// Of several machines that come first at the same time one makes them. The others look again: to make a table that another writes already
		// would lock it.
		if _, err := tx.ExecContext(ctx, "SELECT pg_advisory_xact_lock(hashtext('trueup history'))"); err != nil {
			return err
		}
		if err := tx.QueryRowContext(ctx, ask, pgSchema).Scan(&there); err != nil || there {
			return err
		}
		for _, q := range append([]string{"CREATE SCHEMA IF NOT EXISTS " + pgSchema}, schema...) {
			if _, err := tx.ExecContext(ctx, q); err != nil {
				return err
			}
		}
		return nil
	})
}

// says tells what is wrong with the server. Nothing of it is secret.
func (s *Server) says(err error) error {
	what := ""
	var said *pgconn.PgError
	var timeout interface{ Timeout() bool }
	var dial *net.OpError
	var connect *pgconn.ConnectError
	switch {
	case err == nil:
		return nil
	case errors.As(err, &said):
		switch said.Code { // PostgreSQL, appendix A: error codes
		case "28P01", "28000":
			what = "does not let us in: the user or the password is wrong, or not allowed from here"
		case "3D000":
			what = "is not there: create it (createdb), or name another"
		case "42501":
			what = "does not allow us that: the user needs the right to create a schema in it, or to write the tables of " + pgSchema
		case "42703", "42P01", "42804":
			what = fmt.Sprintf("has tables in %s that are not as this program makes them (%s): rename that schema, and they are made anew", pgSchema, said.Message)
		default:
			what = fmt.Sprintf("says: %s (%s)", said.Message, said.Code)
		}
	case errors.Is(err, context.Canceled):
		what = "was not waited for"
	case errors.Is(err, context.DeadlineExceeded), errors.As(err, &timeout) && timeout.Timeout():
		what = "does not answer in time"
	case errors.As(err, &dial): // once, where several ways were tried
		what = "can not be reached: " + oserror.Text(dial)
	case errors.As(err, &connect):
		what = "can not be reached: " + oserror.Text(connect.Unwrap())
	default:
		what = "failed: " + oserror.Text(err)
	}
	return &serverError{fmt.Sprintf("%s %s", s.name, what), err}
}

// Away tells whether an error of a server is that it was not heard of, rather than an answer of it.
func Away(err error) bool {
	var said *pgconn.PgError
	return !errors.As(err, &said)
}

// serverError says in our words what is wrong, and keeps the cause.
type serverError struct {
	text  string
	cause error
}

func (e *serverError) Error() string { return e.text }
func (e *serverError) Unwrap() error { return e.cause }
