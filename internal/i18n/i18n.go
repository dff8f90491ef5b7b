// Package i18n turns message keys and typed values into text in the reader's
// language and units. Messages live in locales/<area>.<language>.json; a
// language is complete when it has every key of English.
package i18n

import (
	"embed"
	"encoding/json"
	"fmt"
	"io/fs"
	"sort"
	"strings"
	"sync"

	goi18n "github.com/nicksnyder/go-i18n/v2/i18n"
	"golang.org/x/text/language"

	"reddside/internal/units"
)

//go:embed locales/*.json
var locales embed.FS

// Catalogue holds the messages of every language.
type Catalogue struct {
	bundle *goi18n.Bundle
	langs  []string
	plain  map[string]map[string]string // language -> key -> text without arguments
	keys   map[string]bool              // of English
}

// Load returns the catalogue of the embedded messages, which is read once and
// never changes. An unreadable file or a key that stands twice in one language
// is an error, so that a broken catalogue stops the start.
func Load() (*Catalogue, error) { return embedded() }

var embedded = sync.OnceValues(read)

func read() (*Catalogue, error) {
	c := &Catalogue{bundle: goi18n.NewBundle(language.English), plain: map[string]map[string]string{},
		keys: map[string]bool{}}
	c.bundle.RegisterUnmarshalFunc("json", json.Unmarshal)
	files, err := fs.Glob(locales, "locales/*.json")
	if err != nil {
		return nil, fmt.Errorf("list messages: %w", err)
	}
	for _, name := range files {
		if err := c.addFile(name); err != nil {
			return nil, fmt.Errorf("read messages %s: %w", name, err)
		}
	}
	for lang := range c.plain {
		c.langs = append(c.langs, lang)
	}
	sort.Slice(c.langs, func(i, j int) bool {
		return c.langs[i] == "en" ||
			(c.langs[j] != "en" && c.langs[i] < c.langs[j])
	})
	return c, nil
}

func (c *Catalogue) addFile(name string) error {
	data, err := locales.ReadFile(name)
	if err != nil {
		return err
	}
	file, err := c.bundle.ParseMessageFileBytes(data, name)
	if err != nil {
		return err
	}
	lang := file.Tag.String()
	plain := c.plain[lang]
	if plain == nil {
		plain = map[string]string{}
		c.plain[lang] = plain
	}
	for _, m := range file.Messages {
		if _, twice := plain[m.ID]; twice {
			return fmt.Errorf("key %q stands twice", m.ID)
		}
		text := m.Other
		if strings.Contains(text, "{{") || m.One != "" {
			text = "" // needs the template engine
		}
		plain[m.ID] = text
		if lang == "en" {
			c.keys[m.ID] = true
		}
	}
	return nil
}

// Languages lists the languages, English first.
func (c *Catalogue) Languages() []string { return c.langs }

// Has reports whether English has the key.
func (c *Catalogue) Has(key string) bool { return c.keys[key] }

// Match returns the best language of the catalogue for an Accept-Language
// header, English when none fits.
func (c *Catalogue) Match(accept string) string {
	tags, _, err := language.ParseAcceptLanguage(accept)
	if err != nil {
		return "en"
	}
	for _, t := range tags {
		base, _ := t.Base()
		if _, ok := c.plain[base.String()]; ok {
			return base.String()
		}
	}
	return "en"
}

// Printer returns the printer for a language and temperature unit. An unknown
// language prints English.
func (c *Catalogue) Printer(lang string, unit units.TemperatureUnit) *Printer {
	if _, ok := c.plain[lang]; !ok {
		lang = "en"
	}
	p := &Printer{cat: c, lang: lang, unit: unit, plain: c.plain[lang], loc: goi18n.NewLocalizer(c.bundle, lang)}
	p.decimal, p.group = p.T("format.decimal"), p.T("format.group")
	return p
}
