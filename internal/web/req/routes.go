package req

import (
	"net/http"

	"reddside/internal/logbook"
)

func (s *Kernel) NotFound(http.ResponseWriter, *http.Request) error { return logbook.Missing("page") }
