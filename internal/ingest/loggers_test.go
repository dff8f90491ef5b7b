package ingest

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"
	units16 "unicode/utf16"
)

// truth is one reading of an invented logger, known before any file is written.
type truth struct {
	at     time.Time
	c      float64
	reason string // why it must be suspect; "" for a good one
}

// made is a file that a generator wrote from the truth.
type made struct {
	name    string
	data    []byte
	want    []truth
	answers Answers
	asked   []string // questions that must be asked without answers
	refused int      // rows that must be refused
}

const madeZone = "America/Vancouver"

// seriesFrom is two days of readings each half hour around 6.5 C, on the wall clock
// from a moment, as a chiller lets water swing.
func seriesFrom(loc *time.Location, y int, m time.Month, d, n int) []truth {
	out := make([]truth, n)
	start := time.Date(y, m, d, 0, 10, 0, 0, loc)
	for i := range out {
		c := 6.5 + 0.8*math.Sin(float64(i)/7)
		out[i] = truth{at: start.Add(time.Duration(i) * 30 * time.Minute), c: math.Round(c*10) / 10}
	}
	return out
}

// write writes a heading and a line for each reading.
func write(head string, list []truth, line func(x truth) string) []byte {
	var b strings.Builder
	b.WriteString(head)
	for _, x := range list {
		b.WriteString(line(x) + "\n")
	}
	return []byte(b.String())
}

func num(v float64, places int) string { return strconv.FormatFloat(v, 'f', places, 64) }
func comma(v float64) string           { return strings.Replace(num(v, 1), ".", ",", 1) }
func fahrenheit(c float64) float64     { return c*9/5 + 32 }

// serialOf is the day number that a spreadsheet shows for a wall clock.
func serialOf(x truth, loc *time.Location, epoch time.Time) float64 {
	w := x.at.In(loc)
	wall := time.Date(w.Year(), w.Month(), w.Day(), w.Hour(), w.Minute(), w.Second(), 0, time.UTC)
	return wall.Sub(epoch).Hours() / 24
}

var epoch1900 = time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC)

func utf16LE(s string) []byte {
	out := []byte{0xff, 0xfe}
	for _, u := range units16.Encode([]rune(s)) {
		out = binary.LittleEndian.AppendUint16(out, u)
	}
	return out
}

func latin1(s string) []byte {
	var out []byte
	for _, r := range s {
		out = append(out, byte(r))
	}
	return out
}

func with(list []truth, i int, c float64, reason string) []truth {
	list = slices.Clone(list)
	list[i].c, list[i].reason = c, reason
	return list
}

// madeFiles writes the files. Nothing in here reads a file.
func madeFiles(t testing.TB) []made {
	loc := zone(t, madeZone)
	pst := time.FixedZone("PST", -8*3600)
	feb := seriesFrom(loc, 2026, 2, 14, 96)
	late := seriesFrom(loc, 2026, 2, 16, 96) // days above 12 alone: 16 and 17
	july := seriesFrom(pst, 2026, 7, 2, 96)
	iso := func(x truth) string { return x.at.In(loc).Format("2006-01-02 15:04:05") }
	us := func(x truth) string { return x.at.In(loc).Format("01/02/2006 03:04:05 PM") }
	in := func(layout string) func(truth) string {
		return func(x truth) string { return x.at.In(loc).Format(layout) }
	}
	c1 := func(x truth) string { return num(x.c, 1) }
	row := func(sep string, parts ...func(truth) string) func(truth) string {
		return func(x truth) string {
			var out []string
			for _, p := range parts {
				out = append(out, p(x))
			}
			return strings.Join(out, sep)
		}
	}
	fixed := func(s string) func(truth) string { return func(truth) string { return s } }
	csv := func(clock func(truth) string) func(truth) string { return row(",", clock, c1) }
	months := strings.NewReplacer("Feb", "févr.", "Sat", "sam.", "Sun", "dim.", "Mon", "lun.")
	gmt8 := func(x truth) string { return x.at.In(pst).Format("2006-01-02 15:04") }
	var all []made
	add := func(name string, data []byte, want []truth, edit ...func(*made)) {
		m := made{name: name, data: data, want: want}
		for _, e := range edit {
			e(&m)
		}
		all = append(all, m)
	}
	asks := func(id string, a Answers) func(*made) {
		return func(m *made) { m.asked, m.answers = append(m.asked, id), a }
	}
	refuses := func(n int) func(*made) { return func(m *made) { m.refused = n } }

	add("ISO, comma", write("time,temp C\n", feb, csv(in("2006-01-02T15:04:05"))), feb)
	add("semicolon, decimal comma", write("Zeit;Wassertemp. [°C]\n", late,
		row(";", in("02.01.2006 15:04"), func(x truth) string { return comma(x.c) })), late)
	add("byte order mark", append([]byte("\xef\xbb\xbf"), write("Date Time,Temp (°C)\n", feb, csv(iso))...), feb)
	add("UTF-16", utf16LE(string(write("Date Time\tTemp (°C)\n", feb, row("\t", iso, c1)))), feb)
	add("US dates, AM and PM", write("Date Time,Temp (°C)\n", late, csv(us)), late)
	add("Latin-1 month names", latin1(months.Replace(string(write("Date;Température (°C)\n", feb,
		row(";", in("2 Jan 2006 15:04"), func(x truth) string { return comma(x.c) }))))), feb)
	add("unix milliseconds", write("time_ms,temp_c\n", feb,
		csv(func(x truth) string { return num(float64(x.at.UnixMilli()), 0) })), feb)
	add("unix seconds", write("time,temp_c\n", feb, csv(func(x truth) string { return num(float64(x.at.Unix()), 0) })),
		feb)
	broken := with(with(feb, 20, -127, ReasonImpossible), 40, -127, ReasonImpossible)
	add("-127 of a lost sensor", write("time,temp C\n", broken, csv(iso)), broken)
	woken := with(with(feb, 0, 85, ReasonImpossible), 50, 85, ReasonImpossible)
	add("85 of a sensor that woke", write("time,temp C\n", woken, csv(iso)), woken)
	autumn := seriesFrom(loc, 2026, 10, 31, 96)
	var clear []truth
	twice := 0
	for _, x := range autumn {
		// From 01:00 to 02:00 the wall clock of 1 November comes twice.
		if w := x.at.In(loc); w.Day() == 1 && w.Month() == 11 && w.Hour() == 1 {
			twice++
			continue
		}
		clear = append(clear, x)
	}
	add("hours that come twice", write("time,temp C\n", autumn, csv(iso)), clear, refuses(twice))
	newest := slices.Clone(feb)
	slices.Reverse(newest)
	add("newest first", write("time,temp C\n", newest, csv(iso)), feb)
	tenths := func(x truth) string { return num(x.c*10, 0) }
	add("temp x10 in C", write("time,temp C x10\n", feb, row(",", iso, tenths)), feb)
	add("temp x10", write("time,temp x10\n", feb, row(",", iso, tenths)), feb)
	add("temp (0.1 °C)", write("time,temp (0.1 °C)\n", feb, row(",", iso, tenths)), feb)
	add("whole tenths without a word", write("time,temp\n", feb, row(",", iso, tenths)), feb,
		asks("unit", Answers{Unit: "dCel"}))
	f1 := func(x truth) string { return num(fahrenheit(x.c), 2) }
	add("heading C, values F", write("time,temp (°C)\n", feb, row(",", iso, f1)), feb,
		asks("unit", Answers{Unit: UnitDegF}))
	add("comma in names", write("Date Time, GMT-08:00,Temp, °C,Battery\n", july, row(",", gmt8, c1, fixed("3.1"))),
		july)
	add("heading F", write("time,temp (°F)\n", feb, row(",", iso, f1)), feb)
	air := slices.Clone(feb)
	for i := range air {
		switch {
		case i < 9:
			air[i].c, air[i].reason = 20.5+float64(i%3)/10, ReasonAir
		case i >= 88:
			air[i].c, air[i].reason = 21.5-float64(i%2)/10, ReasonAir
		}
	}
	add("in the air at start and end", write("time,temp C\n", air, csv(iso)), air)
	kept := slices.Clone(air)
	for i := range kept {
		kept[i].reason = ""
	}
	add("the same, said to be water", write("time,temp C\n", kept, csv(iso)), kept,
		func(m *made) { m.answers = Answers{Air: AirWater} })
	add("standard time in summer", write("Date Time (standard time),Temp (°C)\n", july,
		csv(func(x truth) string { return x.at.In(pst).Format("2006-01-02 15:04") })), july)
	spike := with(feb, 0, 19.5, ReasonSpike)
	add("spike on the first row", write("time,temp C\n", spike, csv(iso)), spike)
	last := with(feb, 95, 18.5, ReasonSpike)
	add("spike on the last row", write("time,temp C\n", last, csv(iso)), last)
	add("two tanks", write("time,Tank 1 (C),Tank 2 (C)\n", feb, row(",", iso, fixed("9.9"), c1)), feb,
		asks("series", Answers{Series: "3"}))
	add("time column headed GMT-08:00", write("GMT-08:00,Temp (°C)\n", july, csv(gmt8)), july)
	add("unquoted comma before GMT-08:00", write("Date Time, GMT-08:00,Temp (°C)\n", july, csv(gmt8)), july)
	midnight := slices.Clone(feb)
	for i := range midnight {
		midnight[i].at = midnight[i].at.Add(-10 * time.Minute)
	}
	add("24:00", write("time,temp C\n", midnight, csv(func(x truth) string {
		if w := x.at.In(loc); w.Hour() == 0 && w.Minute() == 0 {
			return w.AddDate(0, 0, -1).Format("2006-01-02") + " 24:00"
		}
		return in("2006-01-02 15:04")(x)
	})), midnight)
	serial := func(x truth) string { return num(serialOf(x, loc, epoch1900), 9) }
	add("day numbers", write("Date Time,Temp (C)\n", midnight, csv(serial)), midnight)
	add("day numbers, decimal comma", write("Date;Temp (C)\n", feb, row(";",
		func(x truth) string { return strings.Replace(serial(x), ".", ",", 1) },
		func(x truth) string { return comma(x.c) })), feb)
	add("compact stamps", write("time,temp C\n", feb, csv(in("20060102T1504"))), feb)
	add("compact stamps with Z", write("time,temp C\n", feb,
		csv(func(x truth) string { return x.at.UTC().Format("20060102T150405Z") })), feb)
	add("weekday names", write("time,temp C\n", feb, csv(in("Mon 2 Jan 2006 15:04"))), feb)
	add("weekday names, French", latin1(months.Replace(string(write("heure;temp C\n", feb,
		row(";", in("Mon 2 Jan 2006 15:04"), c1))))), feb)
	add("fixed width", write("Date       Time      Temp C   State\n", feb, func(x truth) string {
		return fmt.Sprintf("%s  %s  %6.1f   %s", in("2006-01-02")(x), in("15:04")(x), x.c, "ok")
	}), feb)
	add("fixed width, AM and PM", write("Date         Time          Temp (C)\n", late, func(x truth) string {
		return fmt.Sprintf("%-10s  %11s  %8.1f", in("1/2/2006")(x), in("3:04:05 PM")(x), x.c)
	}), late)
	add("one space between", write("Date Time Temp_C\n", late, row(" ", in("1/2/2006"), in("15:04"), c1)), late)
	small := with(feb, 10, -5e-04, "")
	small[9].c, small[11].c = 0.5, 0.5
	for i := range small {
		if i < 9 || i > 11 {
			small[i].c = 0.5 + float64(i%3)/10
		}
	}
	add("exponents", write("time,temp C\n", small, row(",", iso, func(x truth) string {
		if x.c < 0 {
			return "-5e-04"
		}
		return strconv.FormatFloat(x.c, 'e', 2, 64)
	})), small)
	add("a. m. and p. m.", write("time;temp C\n", late, func(x truth) string {
		return strings.NewReplacer("AM", "a.\u00a0m.", "PM", "p. m.").Replace(in("2/1/2006 3:04 PM")(x)) + ";" + c1(x)
	}), late)
	add("kelvin", write("time,temp (K)\n", feb, row(",", iso, func(x truth) string { return num(x.c+273.15, 2) })), feb)
	add("millidegrees", write("time,temp (m°C)\n", feb,
		row(",", iso, func(x truth) string { return num(x.c*1000, 0) })), feb)
	add("mg/L beside %", write("time,DO (mg/L),DO (%),Temp (°C)\n", feb, row(",", iso, fixed("11.2"), fixed("93.5"),
		c1)), feb)
	add("mg/L and % as headings", write("time,mg/L,%,C\n", feb, row(",", iso, fixed("11.2"), fixed("93.5"), c1)), feb)
	add("offset in each row", write("time,temp C\n", july,
		csv(func(x truth) string { return x.at.In(loc).Format(time.RFC3339) })), july)
	add("date and clock apart, UTC", write("Date,Time (UTC),Temp C\n", july,
		row(",", func(x truth) string { return x.at.UTC().Format("2006-01-02") },
			func(x truth) string { return x.at.UTC().Format("15:04") }, c1)), july)
	add("title, serial number and events", append([]byte("Plot title: tank\n"),
		write("#,Date Time,Temp (°C) (LGR S/N: 123),Logged\n", feb,
			row(",", fixed("1"), us, c1, fixed("")))...), feb, asks("date_order", Answers{DateOrder: MDY}),
		func(m *made) { m.asked = nil })
	add("spreadsheet", workbook(t, false, sheetOf(midnight, loc, false)), midnight)
	add("spreadsheet, days from 1904, sheets",
		workbook(t, true, `<row r="1"><c r="A1" t="inlineStr"><is><t>Notes</t></is></c></row>`,
			sheetOf(feb, loc, true)), feb)
	return all
}

// sheetOf is the data of a worksheet with a heading in row 2.
func sheetOf(list []truth, loc *time.Location, from1904 bool) string {
	epoch := epoch1900
	if from1904 {
		epoch = time.Date(1904, 1, 1, 0, 0, 0, 0, time.UTC)
	}
	var b strings.Builder
	b.WriteString(`<row r="2"><c r="B2" t="s"><v>0</v></c><c r="C2" t="s"><v>1</v></c></row>`)
	for i, x := range list {
		fmt.Fprintf(&b, `<row r="%d"><c r="B%d" s="1"><v>%.10f</v></c><c r="C%d"><v>%g</v></c></row>`, i+3, i+3,
			serialOf(x, loc, epoch), i+3, x.c)
	}
	return b.String()
}

// workbook packs sheets as ECMA-376 describes them.
func workbook(t testing.TB, from1904 bool, sheets ...string) []byte {
	t.Helper()
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	part := func(name, text string) {
		w, err := z.Create(name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := w.Write([]byte(`<?xml version="1.0" encoding="UTF-8"?>` + text)); err != nil {
			t.Fatal(err)
		}
	}
	const main = ` xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"`
	names, rels := "", ""
	for i, s := range sheets {
		n := strconv.Itoa(i + 1)
		names += `<sheet name="Sheet ` + n + `" sheetId="` + n + `" r:id="rId` + n + `"/>`
		rels += `<Relationship Id="rId` + n + `" Type="worksheet" Target="worksheets/sheet` + n + `.xml"/>`
		part("xl/worksheets/sheet"+n+".xml", `<worksheet`+main+`><sheetData>`+s+`</sheetData></worksheet>`)
	}
	flag := ""
	if from1904 {
		flag = `<workbookPr date1904="1"/>`
	}
	part("xl/workbook.xml", `<workbook`+main+
		` xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships">`+
		flag+`<sheets>`+names+`</sheets></workbook>`)
	part("xl/_rels/workbook.xml.rels", `<Relationships>`+rels+`</Relationships>`)
	part("xl/sharedStrings.xml", `<sst`+main+
		`><si><t>Date Time</t></si><si><r><t>Temp </t></r><r><t>(°C)</t></r></si></sst>`)
	part("xl/styles.xml", `<styleSheet`+main+
		`><numFmts><numFmt numFmtId="164" formatCode="yyyy\-mm\-dd\ hh:mm"/></numFmts>`+
		`<cellStyleXfs><xf numFmtId="0"/></cellStyleXfs><cellXfs><xf numFmtId="0"/><xf numFmtId="164"/></cellXfs></styleSheet>`)
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// Every file is compared with the truth reading by reading: nothing is wrong in
// silence, and what only a person knows is asked.
func TestMadeLoggerFiles(t *testing.T) {
	loc := zone(t, madeZone)
	files := madeFiles(t)
	if len(files) < 40 {
		t.Errorf("%d files", len(files))
	}
	for _, f := range files {
		t.Run(f.name, func(t *testing.T) {
			p, err := Detect(f.data, Answers{})
			if err != nil {
				t.Fatal(err)
			}
			for _, id := range f.asked {
				if !slices.ContainsFunc(required(p.Questions), func(q Question) bool { return q.ID == id }) {
					t.Errorf("%s is not asked", id)
				}
			}
			r, err := Read(f.data, f.answers, loc)
			var qe *QuestionsError
			if errors.As(err, &qe) {
				t.Fatalf("asks %v", qe)
			}
			if err != nil {
				t.Fatal(err)
			}
			if len(r.Readings) != len(f.want) || len(r.Refused) != f.refused {
				t.Fatalf("%d readings, want %d; %d refused, want %d", len(r.Readings), len(f.want), len(r.Refused),
					f.refused)
			}
			for i, x := range r.Readings {
				w := f.want[i]
				if !x.At.Equal(w.at) || math.Abs(x.Value-w.c) > 1e-6 || x.Reason != w.reason {
					t.Fatalf("line %d %q: %s %g %q, want %s %g %q", x.Line, x.Entered, x.At.In(loc), x.Value, x.Reason,
						w.at.In(loc), w.c, w.reason)
				}
			}
		})
	}
}
