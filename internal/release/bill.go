package main

import (
	"debug/buildinfo"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"os"
	"strings"
	"time"
)

// bill is a software bill of materials in CycloneDX 1.6 (JSON), as far as this
// program fills it.
type bill struct {
	Format     string      `json:"bomFormat"`
	Spec       string      `json:"specVersion"`
	Version    int         `json:"version"`
	Metadata   metadata    `json:"metadata"`
	Components []component `json:"components"`
}

type metadata struct {
	Timestamp string    `json:"timestamp"`
	Component component `json:"component"`
}

type component struct {
	Type    string   `json:"type"`
	Ref     string   `json:"bom-ref"`
	Name    string   `json:"name"`
	Version string   `json:"version"`
	PURL    string   `json:"purl,omitempty"`
	Hashes  []digest `json:"hashes,omitempty"`
}

type digest struct {
	Alg     string `json:"alg"`
	Content string `json:"content"`
}

// writeBill lists the modules that are linked into a program, with the checksums
// that Go's database of modules knows them by.
func writeBill(path, program, version string, at time.Time) error {
	info, err := buildinfo.ReadFile(program)
	if err != nil {
		return err
	}
	b := bill{Format: "CycloneDX", Spec: "1.6", Version: 1, Metadata: metadata{Timestamp: at.Format(time.RFC3339),
		Component: component{Type: "application", Ref: "reddside", Name: "reddside", Version: version}}}
	add := func(name, version, sum string) error {
		purl := "pkg:golang/" + name + "@" + version
		c := component{Type: "library", Ref: purl, Name: name, Version: version, PURL: purl}
		if sum != "" {
			raw, err := base64.StdEncoding.DecodeString(strings.TrimPrefix(sum, "h1:"))
			if err != nil {
				return fmt.Errorf("checksum of %s: %w", name, err)
			}
			c.Hashes = []digest{{"SHA-256", fmt.Sprintf("%x", raw)}}
		}
		b.Components = append(b.Components, c)
		return nil
	}
	if err := add("std", strings.TrimPrefix(info.GoVersion, "go"), ""); err != nil {
		return err
	}
	for _, m := range info.Deps {
		if m.Replace != nil {
			m = m.Replace
		}
		if err := add(m.Path, m.Version, m.Sum); err != nil {
			return err
		}
	}
	out, err := json.MarshalIndent(b, "", " ")
	if err != nil {
		return err
	}
	return os.WriteFile(path, append(out, '\n'), 0o644)
}
