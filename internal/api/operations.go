package api

import (
	"net/http"
	"strings"

	"reddside/internal/entries"
	"reddside/internal/ingest"
)

// Operations lists every call of the interface. A test holds it against the
// routes, and sends every example to a server.
func Operations() []operation {
	return append(append(CalcOperations(), readOperations()...), writeOperations()...)
}

func CalcOperations() []operation {
	get := func(path, summary, answer string, query ...parameter) operation {
		return operation{Method: "get", Path: "/calc/" + path, summary: summary, Who: "public", Query: query,
			Answer: answer, Status: http.StatusOK}
	}
	post := func(path, summary, body, answer, example string) operation {
		return operation{Method: "post", Path: "/calc/" + path, summary: summary, Who: "public", Body: body,
			Answer: answer, Status: http.StatusOK, Example: example}
	}
	return []operation{
		{Method: "get", Path: "/openapi.json", summary: "This description", Who: "public", Answer: "Document",
			Status: http.StatusOK},
		get("oxygen", "Oxygen saturation of fresh water. Give either pressure_kpa or altitude_m.", "Oxygen",
			need("temperature_c", "0 to 40", 7.5), may("pressure_kpa", "station pressure, 65 to 110", nil),
			may("altitude_m", "-500 to 3000", 120.0),
			may("measured_mg_l", "measured oxygen, 0 to 70", 10.8)),
		get("ammonia", "Un-ionised part of total ammonia (as N)", "Ammonia",
			need("temperature_c", "0 to 50", 8.0), need("ph", "0 to 14", 7.2), need("tan_mg_l", "0 to 5000", 0.5)),
		get("water-change", "Water to replace at once to reach a target", "WaterChange",
			need("volume_l", "0.01 to 100000", 200.0),
			need("now_mg_l", "in the tank", 1.0), need("new_water_mg_l", "in the new water", 0.0),
			need("target_mg_l", "wanted", 0.6)),
		get("dechlorination", "Sodium thiosulfate for new water. Adults only.", "Dechlorination",
			need("litres", "new water", 60.0), need("chlorine_mg_l", "0 to 10, as Cl2", 1.5)),
		get("alkalinity", "Baking soda of one day against low alkalinity. Adults only.", "Alkalinity",
			need("volume_l", "water", 200.0), need("alkalinity_mg_l", "0 to 1000, as CaCO3", 10.0)),
		get("warming", "A tank whose chiller is off", "Warming", need("volume_l", "water", 200.0),
			need("ua_w_per_k", "heat flow, 0.001 to 10000", 3.0),
			need("tank_c", "0 to 50", 7.0), need("room_c", "-40 to 60", 21.0), need("limit_c", "0 to 50", 13.0),
			may("heat_w", "of pumps and lamps; 0 when left out", 10.0), may("hours", "0 to 10000", 12.0)),
		get("ice", "Ice that lowers the temperature. In sealed bottles.", "Ice", need("volume_l", "water", 200.0),
			need("from_c", "0 to 50", 10.0),
			need("to_c", "at most from_c", 7.0), may("ice_c", "-40 to 0; 0 when left out", -10.0)),
		get("tempering", "Steps from transport water to stream water", "Tempering", need("from_c", "0 to 40", 10.0),
			need("to_c", "0 to 40", 6.0),
			need("fraction_per_step", "share replaced, 0.01 to 1", 0.25), need("within_c", "0.01 to 20", 1.0)),
		get("development", "Days and thermal units to each event at a constant temperature", "Development",
			need("species", "species key", "atlantic_salmon"), need("temperature_c", "of the water", 7.0)),
		get("survival", "Exact binomial interval", "Survival", need("alive", "0 to total", 187.0),
			need("total", "1 to 1000000", 200.0),
			need("level", "0.5 to 0.9999", 0.95)),
		get("condition", "Fulton's condition factor", "Condition", need("weight_g", "0.01 to 10000", 0.3),
			need("length_mm", "10 to 1000", 31.0)),
		get("ration", "Dry food of a day. Give either temperature_c (feed table) or feed_percent.", "Ration",
			need("fish", "1 to 1000000", 200.0),
			need("weight_g", "mean; 0.05 to 12 by the table, else to 10000", 0.5),
			may("temperature_c", "of the water, 2.2 to 12.8", 10.0),
			may("feed_percent", "of body weight, 0 to 15", nil)),
		post("forecast", "Dates from daily temperatures", "ForecastInput", "ForecastAnswer",
			`{"species":"atlantic_salmon","start_on":"2026-01-10","thermal_units":310,"mean_temperature_c":6.2,
			"daily_c":[6.8,7.1,null,7.0,7.2],"future_c":7,"observed":[]}`),
		post("setpoint", "Setpoint that brings swim-up by a day", "SetpointInput", "SetpointAnswer",
			`{"species":"atlantic_salmon","on":"2026-02-10","development_index":0.9,"swim_up_by":"2026-05-10","now_c":7,"min_c":4,"max_c":10,"max_step_c_per_day":1}`),
		post("dead-count", "Is today's dead count unusual for this tank?", "DeadCountInput", "DeadCountAnswer",
			`{"at_risk":190,"stage":"eyed_egg","history":[{"days":1,"dead":0},{"days":1,"dead":1}],"today":{"days":1,"dead":2}}`),
	}
}

func readOperations() []operation {
	get := func(who, path, summary, answer string, query ...parameter) operation {
		return operation{Method: "get", Path: path, summary: summary, Who: who, Query: query, Answer: answer,
			Status: http.StatusOK}
	}
	return []operation{
		get("everyone", "/board", "Open seasons, worst first", "Board", may("site", "id of a site", nil),
			may("status", "act, watch, no_check, due or fine", nil)),
		get("everyone", "/seasons", "Seasons", "SeasonList", may("site", "id of a site", nil),
			may("tank", "id of a tank", nil),
			may("lot", "id of a lot", nil), may("open", "true: open seasons only", "true")),
		get("everyone", "/seasons/{seasonID}", "A season whole", "Season"),
		get("everyone", "/seasons/{seasonID}/forecast", "Forecast of a season", "SeasonForecast"),
		get("everyone", "/seasons/{seasonID}/flags", "What the rules say today", "Flags"),
		get("everyone", "/seasons/{seasonID}/guesses", "Guesses of a class: when half will have hatched", "GuessList"),
		get("staff", "/seasons/{seasonID}/notes", "Notes between keeper and coordinator, oldest first", "NoteList"),
		get("staff", "/seasons/{seasonID}/plan", "The setpoint plan that a season follows", "PlanNow"),
		get("staff", "/seasons/{seasonID}/report", "Totals, survival, dates, completeness", "Report"),
		get("everyone", "/checks/{checkID}", "A check", "Check"),
		get("staff", "/events/{eventID}", "An event", "Event"),
		get("staff", "/samples/{sampleID}", "Fish that were weighed", "Sample"),
		get("staff", "/deliveries/{deliveryID}", "A delivery", "Delivery"),
		get("staff", "/releases/{releaseID}", "What a release was like, beside its event", "Release"),
		get("staff", "/sites", "Sites", "SiteList"),
		get("staff", "/sites/{siteID}", "A site", "Site"),
		get("staff", "/sites/{siteID}/tanks", "Tanks of a site", "TankList"),
		get("staff", "/tanks/{tankID}", "A tank", "Tank"),
		get("staff", "/tanks/{tankID}/ready", "What has to be ready before eggs come, and what is", "ReadyList"),
		get("staff", "/lots", "Lots", "LotList"),
		get("staff", "/lots/{lotID}", "A lot", "Lot"),
		get("staff", "/permits", "Permits of the programme", "PermitList"),
		get("staff", "/permits/{permitID}", "A permit, and the seasons under it", "Permit"),
		get("staff", "/release-places", "Places of release", "ReleasePlaceList"),
		get("staff", "/release-places/{placeID}", "A place of release", "ReleasePlace"),
		get("staff", "/export", "Everything one may see, as a zip: Data Package of CSV files", ""),
	}
}

func writeOperations() []operation {
	create := func(who, path, summary, body, answer, example string) operation {
		return operation{Method: "post", Path: path, summary: summary, Who: who, Body: body, Answer: answer,
			Status: http.StatusCreated, Example: example, Key: true}
	}
	patch := func(path, summary, body, answer, example string) operation {
		return operation{Method: "patch", Path: path, summary: summary, Who: "staff", Body: body, Answer: answer,
			Status: http.StatusOK, Example: example, Match: true}
	}
	void := func(path, summary, answer string) operation {
		return operation{Method: "delete", Path: path, summary: summary, Who: "staff", Body: "Reason", Answer: answer,
			Status: http.StatusOK,
			Query:  []parameter{may("reason", "in place of the body", nil)}, Example: `{"reason":"wrong tank"}`,
			Match: true}
	}
	boss := func(op operation) operation { op.Who = "coordinator"; return op }
	return []operation{
		create("coordinator", "/permits", "Add a permit; lists have ; between", "PermitInput", "Permit",
			`{"number":"P-7","holder":"River office","waters":"Invented River; Elm Brook","from":"2026-05-01","to":"2026-06-15",
			"most_fish":5000,"least_g":0.2,"species":"atlantic_salmon"}`),
		boss(patch("/permits/{permitID}", "Change a permit", "PermitPatch", "Permit",
			`{"to":"2026-06-20","reason":"extended"}`)),
		boss(void("/permits/{permitID}", "Take a permit back", "Permit")),
		{Method: "patch", Path: "/permits/{permitID}/seasons", summary: "Put seasons under a permit, or take them from it",
			Who: "coordinator", Body: "PermitSeasons", Answer: "Permit", Status: http.StatusOK,
			Example: `{"attach":["{seasonID}"],"detach":[]}`},
		create("coordinator", "/release-places", "Add a place of release", "ReleasePlaceInput", "ReleasePlace",
			`{"name":"Lower bridge","water":"Invented River","coordinates":"45° 30.5' N, 63° 15' W","reach":"bridge to weir"}`),
		boss(patch("/release-places/{placeID}", "Change a place of release", "ReleasePlacePatch", "ReleasePlace",
			`{"reach":"weir to mouth","reason":"moved"}`)),
		boss(void("/release-places/{placeID}", "Take a place of release back", "ReleasePlace")),
		create("coordinator", "/sites", "Add a site", "SiteInput", "Site",
			`{"name":"Birch Hill School","zone":"America/Halifax","altitude_m":40,"language":"en","temperature_unit":"Cel"}`),
		create("staff", "/sites/{siteID}/tanks", "Add a tank", "TankInput", "Tank",
			`{"name":"Tank 9","volume_l":200,"wall":"insulated","setpoint_c":7,"has_chiller":true,"has_filter":true}`),
		create("staff", "/lots", "Add a lot", "LotInput", "Lot",
			`{"code":"L-12","species":"atlantic_salmon","fertilised_on":"2025-11-02"}`),
		create("staff", "/seasons", "Start a season, with its first delivery", "SeasonInput", "Season",
			`{"tank_id":"{freeTankID}","lot_id":"{lotID}","label":"2025-26","release_by":"2026-06-15","delivery":{"on":"2026-01-12","count":200,
			"method":"by_hand","thermal_units":310,"mean_temperature_c":6.2,"stage":"eyed_egg"}}`),
		create("staff", "/seasons/{seasonID}/deliveries", "Eggs placed in a tank", "DeliveryInput", "DeliveryAnswer",
			`{"on":"2026-01-20","count":50,"method":"by_volume","thermal_units":320,"mean_temperature_c":6.2,"stage":"eyed_egg"}`),
		create("everyone", "/seasons/{seasonID}/checks", "One look at a tank", "CheckInput", "CheckAnswer",
			`{"on":"2026-02-10","slot":"extra","temperature":{"value":44.6,"unit":"[degF]"},"chiller":"running","filter":"running","air_pump":"not_fitted",
			"dead":{"eggs":1},"stage":"eyed_egg","hatched":"none","water":"clear","ph":7.1,"observer":"Group 3"}`),
		create("staff", "/seasons/{seasonID}/events", "Something done to a tank", "EventInput", "EventAnswer",
			`{"kind":"water_change","on":"2026-02-09","volume_l":40}`),
		create("staff", "/seasons/{seasonID}/releases", "What a release was like, beside its event", "ReleaseInput",
			"Release",
			`{"event_id":"{barereleaseID}","water_body":"Invented River","latitude":45.5,"longitude":-63.25,"purpose":"stocking","life_stage":"fry",
			"mean_length_mm":32,"transport":"two buckets","container_l":20,"oxygen_supply":"air","tank_c":9,"bucket_c":10,"stream_c":8,
			"tempering_steps":4,"health_statement":"not_asked"}`),
		create("staff", "/seasons/{seasonID}/samples", "Fish that were weighed, and perhaps measured", "SampleInput",
			"SampleAnswer",
			`{"on":"2026-02-09","count":20,"total_g":3.4,"lengths_mm":[28,29,27.5],"lost":0,"confirm":["lengths_mm"]}`),
		create("staff", "/seasons/{seasonID}/notes", "A note to the keeper or the coordinator", "NoteInput", "Note",
			`{"body":"Is the new filter in?","asks":true}`),
		create("staff", "/seasons/{seasonID}/plan", "Work a setpoint plan out and follow it", "PlanInput", "PlanAnswer",
			`{"goal":"swim_up","wanted_on":"2026-04-20","max_step_c_per_day":1,"skip_weekends":true}`),
		create("everyone", "/seasons/{seasonID}/guesses", "The guess of a group", "GuessInput", "Guess",
			`{"group":"Group 3","on":"2026-02-25"}`),
		{Method: "post", Path: "/seasons/{seasonID}/readings",
			summary: "Temperatures of a logger: a list, or its file as it is",
			Who:     "staff", Body: "Readings", Answer: "ReadingsAnswer", Status: http.StatusOK,
			Example: `[{"at":"2026-02-09T08:00:00-04:00","temperature_c":7.1},{"on":"2026-02-08","temperature":{"value":45,"unit":"[degF]"}}]`,
			Text:    "time,temperature_c\n2026-02-09T09:00:00Z,7.1\n2026-02-09T10:00:00Z,7.2\n",
			Query: []parameter{may("sensor", "tells sensors of one tank apart", nil),
				may("file_name", "for the record", nil),
				may("date_order", "ymd, dmy or mdy", nil), may("midnight", "daily or instant", nil),
				may("decimal", ". or ,", nil),
				may("series", "which series of the file", nil),
				may("unit", strings.Join(ingest.TemperatureUnits(), ", "), nil),
				may("zone", "site, standard, UTC or an offset", nil), may("time_column", "from 1", nil),
				may("sheet", "of a spreadsheet, from 1", nil),
				may("air", "out or water: readings at the start and the end that look like air", nil),
				may("confirm", "doubts that are none, with commas: "+strings.Join(entries.DoubtNames(), ", "), nil)}},
		{Method: "delete", Path: "/seasons/{seasonID}/imports/{importID}", summary: "Take a file of readings back",
			Who: "staff", Body: "Reason",
			Answer: "ImportVoidAnswer", Status: http.StatusOK,
			Query:   []parameter{may("reason", "in place of the body", nil)},
			Example: `{"reason":"the file of tank B"}`},
		patch("/sites/{siteID}", "Change a site", "SitePatch", "Site", `{"altitude_m":41}`),
		{Method: "patch", Path: "/tanks/{tankID}/ready", summary: "Tick what is ready, or take ticks off", Who: "staff",
			Body: "ReadyPatch", Answer: "ReadyList", Status: http.StatusOK, Example: `{"done":["leak"],"not_done":["spare"]}`},
		patch("/tanks/{tankID}", "Change a tank", "TankPatch", "Tank", `{"setpoint_c":7.5}`),
		patch("/lots/{lotID}", "Change a lot", "LotPatch", "Lot", `{"supplier":"Invented hatchery"}`),
		patch("/seasons/{seasonID}", "Change or close a season", "SeasonPatch", "Season",
			`{"release_from":"2026-05-20"}`),
		patch("/checks/{checkID}", "Correct a check", "CheckPatch", "CheckAnswer",
			`{"temperature":{"value":7.2,"unit":"Cel"},"reason":"misread"}`),
		patch("/events/{eventID}", "Correct an event", "EventPatch", "EventAnswer",
			`{"note":"about a bucket","reason":"late entry"}`),
		patch("/releases/{releaseID}", "Correct the record of a release", "ReleasePatch", "Release",
			`{"stream_c":8.5,"reason":"misread"}`),
		patch("/samples/{sampleID}", "Correct a sample", "SamplePatch", "SampleAnswer",
			`{"total_g":3.6,"reason":"misread"}`),
		patch("/deliveries/{deliveryID}", "Correct a delivery", "DeliveryPatch", "DeliveryAnswer",
			`{"count":198,"reason":"counted again"}`),
		void("/checks/{checkID}", "Take a check back", "CheckAnswer"),
		void("/events/{eventID}", "Take an event back", "EventAnswer"),
		void("/samples/{sampleID}", "Take a sample back", "SampleAnswer"),
		void("/deliveries/{deliveryID}", "Take a delivery back", "DeliveryAnswer"),
	}
}
