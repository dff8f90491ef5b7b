package words

import (
	"strconv"

	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/web/ui"
)

func PhotoViews(p *i18n.Printer, list []logbook.Photo) []ui.Photo {
	var out []ui.Photo
	for _, x := range list {
		out = append(out, ui.Photo{ID: string(x.ID), Src: "/photos/" + string(x.ID) + ".jpg", Alt: x.Alt, Caption: p.Date(x.On) + ": " + x.Alt,
			Width: strconv.Itoa(x.Width), Height: strconv.Itoa(x.Height), RemoveHref: "/photos/" + string(x.ID) + "/remove"})
	}
	return out
}
