package words

import (
	"fmt"

	"reddside/internal/civil"
)

// SeasonLabel is the school year of a day: it changes on 1 July.
func SeasonLabel(d civil.Date) string {
	y, m, _ := d.YMD()
	if m < 7 {
		y--
	}
	return fmt.Sprintf("%d-%02d", y, (y+1)%100)
}
