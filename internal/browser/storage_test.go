package browser

import (
	"strings"
	"testing"

	"github.com/chromedp/cdproto/page"
)

// blockStorage is run before any script of a page.
const blockStorage = `Object.defineProperty(window, "localStorage", { get: function () { throw new DOMException("blocked", "SecurityError"); } });`

// fullStorage fills the storage to the last character.
const fullStorage = `(function () {
	var size = 1 << 20, n = 0;
	while (size > 0) {
		try { localStorage.setItem("filler" + n, new Array(size + 1).join("x")); n++; } catch (e) { size = size >> 1; }
	}
})();`

func TestStorageBlockedOrFull(t *testing.T) {
	t.Parallel()
	for name, script := range map[string]string{"blocked": blockStorage, "full": fullStorage} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			c := startChild(t)
			b := newTab(t, "http://"+strings.Replace(c.addr, "127.0.0.1", lanName, 1))
			must(b, page.AddScriptToEvaluateOnNewDocument,
				page.AddScriptToEvaluateOnNewDocumentParams{Source: `if (location.protocol === "http:") { ` + script +
					` }`})
			b.as("class")
			b.open(seasonPath(c.room, "/checks/new"))
			b.mu.Lock()
			b.offline = true
			b.mu.Unlock()
			if eval[bool](b, `document.querySelector("[data-draft-off]").hidden`) {
				t.Error("nothing says that no draft is kept")
			}
			b.typeCheck("5.9")
			c.kill()
			b.press(saveButton)
			b.untilWaiting()
			if s := eval[string](b, `document.querySelector("[data-waiting-state]").textContent`); !strings.Contains(s,
				"cannot keep the entry") {
				t.Errorf("the list says %q", s)
			}
			if v := b.value("temperature"); v != "5.9" ||
				eval[bool](b, `document.querySelector("form.check-form").hidden`) {
				t.Errorf("the form does not hold what was typed: %q", v)
			}
			c.start()
			b.until("the check to be stored",
				`document.querySelectorAll("[data-waiting-done] a").length === 1 || location.pathname.indexOf("/checks/") === 0`)
			c.wantOneCheck(5.9)
		})
	}
}

// Without a script the form is a plain form: sent, stored, shown.
func TestCheckWithoutScriptOnANetwork(t *testing.T) {
	t.Parallel()
	s := demoSite(t)
	b := newTab(t, s.lan()).as("class")
	b.withoutScript()
	b.open(seasonPath(s.season("Room 3", true), "/checks/new"))
	b.fill("temperature", "6.2")
	b.click(saveButton)
	b.wantStored()
}
