package main

import (
	"context"
	"testing"
	"time"
)

// What runs beside the server has ended when its end returns, so that the database
// is closed after it.
func TestEndWaitsForTheBackground(t *testing.T) {
	started, ended := make(chan struct{}), false
	end := beside(t.Context(), func(ctx context.Context) {
		close(started)
		<-ctx.Done()
		time.Sleep(20 * time.Millisecond) // a transaction that goes on
		ended = true
	})
	<-started
	end()
	if !ended {
		t.Error("it still runs")
	}
}
