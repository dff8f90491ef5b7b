package web

import (
	"testing"
)

// A person reads in the unit they chose; the form asks in the unit of the school's
// thermometer, and what was typed comes back as typed.
func TestUnitsOfAPerson(t *testing.T) {
	ts := newTestServer(t)
	ts.check(ts.one, testToday, 7, 0)
	keeper, class, boss := ts.as(ts.keeper), ts.as(ts.class), ts.as(ts.coordinator)
	tank := "/seasons/" + string(ts.one.ID)
	keeper.get(tank).want(t, 200, "7.0\u00a0°C", "°F: read temperatures in Fahrenheit")
	keeper.post("/units", fields("unit", "kelvin", "back", tank)).want(t, 303)
	keeper.get(tank).want(t, 200, "7.0\u00a0°C")
	if p := keeper.post("/units", fields("unit", "[degF]", "back", tank)).want(t, 303); p.Location != tank {
		t.Errorf("led to %s", p.Location)
	}
	keeper.get(tank).want(t, 200, "44.6\u00a0°F", "°C: read temperatures in Celsius").lacks(t, "7.0\u00a0°C")
	keeper.get("/board").want(t, 200, "44.6\u00a0°F")
	keeper.get(tank+"/forecast").want(t, 200).lacks(t, "\u00a0°C")
	form := keeper.get(seasonPath(ts.two, "checks/new")).want(t, 200, "°C")
	form.lacks(t, "(°F)")
	keeper.post(seasonPath(ts.two, "checks"), plainCheck("temperature", "6.5")).want(t, 303)
	boss.get("/seasons/"+string(ts.two.ID)).want(t, 200, "6.5\u00a0°C")
	// A shared tablet keeps the school's unit.
	class.post("/units", fields("unit", "[degF]", "back", tank)).want(t, 303)
	class.get(tank).want(t, 200, "7.0\u00a0°C").lacks(t, "read temperatures in")
}
