package store

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"errors"
	"fmt"
	"io"
	"strings"

	"modernc.org/sqlite"

	"reddside/internal/logbook"
)

// sqliteConn is what every connection of the driver can do.
type sqliteConn interface {
	driver.Conn
	driver.ConnBeginTx
	driver.ConnPrepareContext
	driver.ExecerContext
	driver.QueryerContext
	driver.Pinger
	driver.SessionResetter
	driver.Validator
}

// conn is one connection of a pool. Inside a transaction it speaks to the
// driver itself, because database/sql's conversion of each column would be
// most of the time of reading the board, and it keeps its statements, because
// compiling them would be most of the time of saving a check.
type conn struct {
	sqliteConn
	stmts map[string]*prepared
	cache *seasonCache
	told  func(sql string)  // of every statement, nil for nobody
	fresh []*logbook.Season // loaded in the transaction, for the cache once it is committed
	// judged are the seasons that an After of the transaction was called with.
	judged []*logbook.Season
}

// prepared is a statement of a connection; busy while a cursor is open on it.
type prepared struct {
	st   driver.Stmt
	kept bool
	busy bool
}

// keepStmts is the number of statements a connection keeps; the program has
// fewer.
const keepStmts = 300

// connector opens connections of type *conn.
type connector struct {
	driver.Connector
	cache *seasonCache
	told  func(sql string)
}

// Connect opens a connection.
func (k connector) Connect(ctx context.Context) (driver.Conn, error) {
	c, err := k.Connector.Connect(ctx)
	if err != nil {
		return nil, err
	}
	sc, ok := c.(sqliteConn)
	if !ok {
		return nil, errors.Join(fmt.Errorf("unexpected database driver %T", c), c.Close())
	}
	return &conn{sqliteConn: sc, stmts: map[string]*prepared{}, cache: k.cache, told: k.told}, nil
}

// Lists that people read are ordered by names as people list them. Nothing stored
// depends on it, so that other programs can read the file.
func init() { sqlite.MustRegisterCollationUtf8("by_number", logbook.NaturalCompare) }

// openPool opens a pool of at most n connections.
func openPool(source string, n int, cache *seasonCache, told func(string)) (*sql.DB, error) {
	k, err := sqlite.NewConnector(source)
	if err != nil {
		return nil, err
	}
	p := sql.OpenDB(connector{k, cache, told})
	p.SetMaxOpenConns(n)
	p.SetMaxIdleConns(n)
	return p, nil
}

func (c *conn) tell(query string) {
	if c.told != nil {
		c.told(query)
	}
}

// QueryContext is the driver's, for what goes through database/sql.
func (c *conn) QueryContext(ctx context.Context, query string, args []driver.NamedValue) (driver.Rows, error) {
	c.tell(query)
	return c.sqliteConn.QueryContext(ctx, query, args)
}

// ExecContext is the driver's, for what goes through database/sql.
func (c *conn) ExecContext(ctx context.Context, query string, args []driver.NamedValue) (driver.Result, error) {
	c.tell(query)
	return c.sqliteConn.ExecContext(ctx, query, args)
}

// Unwrap returns the driver's own connection.
func (c *conn) Unwrap() driver.Conn { return c.sqliteConn }

// Close ends the kept statements and the connection.
func (c *conn) Close() error {
	var errs []error
	for _, p := range c.stmts {
		errs = append(errs, p.st.Close())
	}
	c.stmts = nil
	return errors.Join(append(errs, c.sqliteConn.Close())...)
}

// statement returns the statement of a query, which is then busy until done.
func (c *conn) statement(ctx context.Context, query string) (*prepared, error) {
	c.tell(query)
	if p := c.stmts[query]; p != nil && !p.busy {
		p.busy = true
		return p, nil
	}
	st, err := c.PrepareContext(ctx, query)
	if err != nil {
		return nil, err
	}
	p := &prepared{st: st, busy: true}
	if c.stmts[query] == nil && len(c.stmts) < keepStmts {
		p.kept = true
		c.stmts[query] = p
	}
	return p, nil
}

func (p *prepared) done() {
	p.busy = false
	if !p.kept {
		_ = p.st.Close()
	}
}

// exec runs a statement and returns the number of rows it changed.
func (c *conn) exec(ctx context.Context, query string, args ...any) (int64, error) {
	named, err := values(args)
	if err != nil {
		return 0, err
	}
	p, err := c.statement(ctx, query)
	if err != nil {
		return 0, err
	}
	defer p.done()
	run, ok := p.st.(driver.StmtExecContext)
	if !ok {
		return 0, fmt.Errorf("unexpected statement %T", p.st)
	}
	res, err := run.ExecContext(ctx, named)
	if err != nil {
		return 0, err
	}
	return res.RowsAffected()
}

// insert stores one row; cols names the columns of args in order.
func (c *conn) insert(ctx context.Context, table, cols string, args ...any) error {
	_, err := c.exec(ctx, "INSERT INTO "+table+" ("+cols+") VALUES (?"+strings.Repeat(",?", len(args)-1)+")", args...)
	return err
}

// each calls fn for every row of a query. The row is reused.
func (c *conn) each(ctx context.Context, fn func(r row) error, query string, args ...any) error {
	cur, err := c.cursor(ctx, query, args...)
	if err != nil {
		return err
	}
	defer cur.close()
	for cur.next() {
		if err := fn(cur.row); err != nil {
			return err
		}
	}
	return cur.err
}

// one reads the first row of a query; found is false when there is none.
func (c *conn) one(ctx context.Context, fn func(r row) error, query string, args ...any) (found bool, err error) {
	cur, err := c.cursor(ctx, query, args...)
	if err != nil {
		return false, err
	}
	defer cur.close()
	if !cur.next() {
		return false, cur.err
	}
	return true, fn(cur.row)
}

// cursor is an open query.
type cursor struct {
	p    *prepared
	rows driver.Rows
	row  row
	err  error
}

func (c *conn) cursor(ctx context.Context, query string, args ...any) (*cursor, error) {
	named, err := values(args)
	if err != nil {
		return nil, err
	}
	p, err := c.statement(ctx, query)
	if err != nil {
		return nil, err
	}
	run, ok := p.st.(driver.StmtQueryContext)
	if !ok {
		p.done()
		return nil, fmt.Errorf("unexpected statement %T", p.st)
	}
	rows, err := run.QueryContext(ctx, named)
	if err != nil {
		p.done()
		return nil, err
	}
	return &cursor{p: p, rows: rows, row: make(row, len(rows.Columns()))}, nil
}

func (k *cursor) next() bool {
	if k.err != nil {
		return false
	}
	err := k.rows.Next(k.row)
	if err != nil && !errors.Is(err, io.EOF) {
		k.err = err
	}
	return err == nil
}

func (k *cursor) close() {
	_ = k.rows.Close()
	k.p.done()
}
