package req

import (
	"net/http"
)

// HeaderWaiting marks an entry that a script sends, from its form or later from
// those that wait on the device. The script shows the page itself, so it gets a
// bare status: 201 with the address of what is stored, or 401.
const HeaderWaiting = "Reddside-Waiting"

func SentByScript(r *http.Request) bool { return r.Header.Get(HeaderWaiting) != "" }
