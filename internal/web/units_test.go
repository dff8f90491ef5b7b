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

// One reader reads one unit on every page: a keeper that of the school's
// thermometers, the coordinator that of the programme; forms ask in the school's.
func TestOneUnitOnEveryPage(t *testing.T) {
	ts := newTestServer(t)
	ts.keeper = ts.birchKeeper
	ts.check(ts.far, testToday, 7, 0)
	keeper, boss, tank := ts.as(ts.birchKeeper), ts.as(ts.coordinator), pathOf(ts.far)
	for _, path := range []string{"/board", "/morning", tank, tank + "/facts"} {
		keeper.get(path).want(t, 200, "44.6\u00a0°F").lacks(t, "7.0\u00a0°C")
	}
	for _, path := range []string{"/board", tank, tank + "/facts"} {
		boss.get(path).want(t, 200, "7.0\u00a0°C").lacks(t, "44.6\u00a0°F")
	}
	boss.get(tank+"/checks/new").want(t, 200, "°F")
}
