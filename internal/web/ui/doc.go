// Package ui holds layout, fields, figures and the other pieces that pages share.
package ui
