"""Which pictures there are: page, role, state, whose rows, what is sent, and what must be seen.

Every page has its state 'full'. Every page with a form has 'error', the form refused with the
words beside the field; every page without one has 'empty'. Where that cannot be, the table says
why. `missing` names what is not there.
"""

from dataclasses import dataclass, field

from tests.trust.policy import POLICIES

# answers that are no page: files, data, and what only takes a POST
NO_PAGE = frozenset({
    "livez", "readyz", "calendar", "accounts:calendar_end", "portal:calendar_end", "portal:report", "portal:photo", "office:incident_photo", "office:reading_photo", "portal:letters_stop", "portal:answer", "portal:times", "portal:weather", "accounts:logout", "office:due_csv",
    "office:places_csv", "office:systems_csv", "office:letters_csv", "office:reference_csv", "office:incidents_csv", "office:readings_csv", "office:supply_list_csv",
    "office:report_pdf", "office:survey_blank_pdf", "office:survey_pdf", "office:proposal_pdf", "office:proposal_draw", "office:proposals_csv", "office:word_noted", "office:survey_photo", "portal:proposal", "portal:proposal_said", "portal:close", "portal:again", "office:photo", "office:letter_now", "office:letter_mail", "office:address_noted", "office:advice_undo", "office:phones_looked",
    "office:client_data_save", "office:client_access_csv",
    "office:check_in_heard", "office:away_end", "office:visit_lines", "office:round_accept", "office:round_drop", "field:look", "field:start", "field:undo",
    # the phone's page draws itself from what the phone holds: tests/phone walks its screens
    "field:day_pdf", "field:app", "field:worker", "field:manifest", "field:module",
})  # fmt: skip
NO_ERROR = {
    "office:ahead": "asks for the forecast anew by its button; there is nothing to write",
    "accounts:sessions": "ends a browser by its button; there is nothing to write",
    "portal:away_end": "asks yes or no; what is withdrawn already stays so",
    "accounts:calendars": "makes an address by its button; there is nothing to write",
    "portal:calendar": "makes an address by its button; there is nothing to write",
    "office:plan_make": "asks yes or no; making a plan again adds what is missing",
    "office:flow_remove": "asks yes or no",
    "office:closure_end": "asks yes or no",
    "office:climate_end": "asks yes or no",
    "office:standing_end": "asks yes or no",
    "office:address_again": "asks yes or no",
    "office:advice_end": "asks yes or no; advice that is closed already stays so",
    "office:report_draw": "asks yes or no; drawing again gives the same report",
    "office:report_release": "asks yes or no; what is released already stays so",
    "office:running_late": "asks yes or no; a second press sends nothing",
    "office:offer_back": "asks yes or no",
    "office:survey_photo_end": "asks yes or no",
    "office:entry_restore": "asks yes or no; the loaded figures are always there",
}
NO_EMPTY = {
    "office:client_data": "a client has a name at least",
    "office:proposal": "a proposal has lines; without prices it says so",
    "office:calculators": "the calculators come with the program",
    "office:calculator": "its fields are the page",
    "office:loop_recipe": "its fields are the page",
    "office:reference": "the catalogue is loaded when the firm is set up",
    "office:entry": "an entry has figures",
    "office:letter": "a letter has words",
    "office:round_plan": "a plan in which nobody goes out is one that failed or waits",
    "office:weather_watch": "a list went to somebody",
    "field:visit": "a visit has a place and a system",
    "field:result": "a visit that is written up has led to something or says so",
}
DESIGN = (
    "?by=beds&amount=4&crop_group=leafy&crop=lettuce_loose_leaf&bed_kind=raft"
    "&species=nile_tilapia&winter_c=15&summer_c=30&lift_m=1.5&pipe_m=6"
)
DOSING = (
    "?goal=alkalinity&target=60&every_days=1&who=client&scale_g=0.1&volume_l=1420&acid=HCl"
    "&ph=6.5&alk=31&temp=25&tan=0.2&k=18&ca=30&just_measured=on&at_hand=KHCO3&at_hand=Ca%28OH%292"
    "&at_hand=K2SO4&at_hand=Fe-DTPA+11+%25&at_hand=HCl"
)
ACID = (
    DOSING.replace("alkalinity", "source")
    + "&source_alk=180&source_ph=7.8&source_temp=15&barrel_l=200&acid_pct=37"
)
DOSING_IRON = DOSING.replace("alkalinity", "fe").replace("target=60", "target=2") + "&fe=0.3"
RECIPE = (
    "?target=fruiting_fruit&fresh_l=40&scale_g=0.1&now_no3=60&now_k=80&now_ca=70&now_p=6&now_mg=14"
    "&source_no3=2&source_ca=40&source_mg=8&salts=5Ca%28NO3%292.NH4NO3.10H2O&salts=KH2PO4"
    "&salts=MgSO4.7H2O&salts=K2SO4&salts=Fe-DTPA+11+%25&salts=MnSO4.H2O&salts=H3BO3"
)
SOWING = "?crop=lettuce_loose_leaf&heads=20&first=2026-06-15&temp_c=29&area_m2=2"
FIRST_FISH = "?species=nile_tilapia&final_kg=12&weight_g=20&way=bag&water_ph=7.2&water_c=24"
NOBODY = "00000000-0000-4000-8000-000000000009"


@dataclass(frozen=True)
class Row:
    """One picture to take.

    `of` says whose rows the address names (see samples). `sent` is put into the page's form, which
    is then sent; the words of the refusal must stand beside its first field, or at `says`.
    """

    name: str
    role: str
    state: str = "full"
    query: str = ""
    kwargs: dict[str, str] = field(default_factory=dict)
    of: str = ""
    site: str = "demo"
    path: str = ""
    sent: dict[str, str] | None = None
    status: int = 200
    says: str = ""


# what is typed into each form so that it is refused; the first field must say why.
# For a choice of several, "" takes every tick away.
BAD = {
    "accounts:login": {"username": ""},
    "office:place_new": {"client_name": "", "email": "robin@", "where": "91.0000, 5.2500"},
    "office:place_edit": {"street": "", "where": "east"},
    "office:place_pin": {"where": "east"},
    "office:client_photos": {"how": "", "use": "records"},
    "office:client_erase": {"name": "Somebody else", "password": "x"},
    "office:client_edit": {"since": "31.02.2026", "client_name": ""},
    "office:contact_new": {"email": "", "name": "Robin"},
    "office:contact_edit": {"email": "nowhere", "time_zone": "Middle/Nowhere"},
    "office:links_end": {"reason": ""},
    "office:hours": {"d1_0_opens": "10:00", "d1_0_closes": "09:00"},
    "office:holidays": {"country": "QQ"},
    "office:closure_new": {"name": "", "first": "soon"},
    "office:climate_edit": {"low_c_1": "cold", "high_c_7": "86", "rain_mm_3": "-2"},
    "office:climate_place": {"pasted": "1; 2; 3"},
    "office:standing_new": {"rrule": "every second Tuesday", "starts": "25:00"},
    "office:source_new": {"ph": "72", "on": "2031-01-01", "alkalinity_mg_l_caco3": "much"},
    "office:survey_new": {"length_m": "wide", "ph": "7.2", "summer_c": "90"},
    "office:survey_edit": {"sun_hours": "30", "surveyed_by": ""},
    "office:prices": {"price_tank": "-1", "price_raft": "much"},
    "office:currency": {"currency": "DEM"},
    "office:proposal_edit": {"valid_until": "soon", "hours": "4", "extra_1": "Crane"},
    "office:proposal_answer": {"on": "2031-01-01"},
    "office:proposal_build": {"name": ""},
    "office:version_send": {"words": "x" * 1001},
    "office:survey_photos": {"photo": "", "caption": "The wall"},
    "office:call_new": {"text": ""},
    "office:system_new": {"name": ""},
    "office:first_weeks_start": {"temp_c": "60"},
    "office:system_edit": {"name": "", "started_on": "soon"},
    "office:book": {"technicians": "", "start": "25:00"},
    "office:component_new": {"litres": "lots", "name": ""},
    "office:component_edit": {"name": "", "litres": "-5"},
    "office:component_swap": {"on": "2031-01-01", "name": "Pump"},
    "office:component_remove": {"on": "2031-01-01"},
    "office:flow_new": {"litres_per_hour": "fast"},
    "office:task_new": {"every_n": "0"},
    "office:task_edit": {"season_from": "13-40"},
    "office:feed_new": {"amount_kg": "2000", "counted_on": "2031-01-01"},
    "office:meter_new": {"value": "some", "taken_on": "2031-01-01"},
    "office:fish_stock": {"count": "-1", "mean_weight_g": "heavy"},
    "office:treat": {"hold_until": "", "product": ""},
    "office:plant_new": {"count": "some"},
    "office:fish_weigh": {"weights_g": "180 many"},
    "office:fish_deaths": {"count": "0"},
    "office:fish_taken": {"count": "0"},
    "office:harvest_prices": {"crops-lettuce_loose_leaf": "-1"},
    "office:plant_out": {"transplanted_on": ""},
    "office:plant_pick": {"mass_kg": "-1"},
    "office:loop_edit": {"volume_known_within_pct": "200"},
    "office:quiet": {"quiet_from": "25:00"},
    "office:notices": {"quiet_client_days": "some", "renewal_days": "0", "low_stock_days": "14"},
    "office:letter_new": {"subject": "", "words": ""},
    "portal:letters": {"reports_as": ""},
    "office:paper": {"paper": "vellum"},
    "office:summaries": {"first": "soon", "last": ""},
    "office:report_note": {"note": "x" * 2001},
    "office:visit_move": {"technicians": "", "end": "06:00"},
    "office:visit_answer": {"answer": ""},
    "office:visit_step": {"reason": ""},
    "office:visit_offer": {"times": "", "until_time": "25:00"},
    "office:offer_pick": {"time": ""},
    "office:meter_end": {"reason": ""},
    "office:reading_correct": {"value": "many", "reason": ""},
    "office:phone_cut": {"reason": ""},
    "office:call_open": {"kind": ""},
    "office:weather_new": {"systems": ""},
    "office:incident": {"text": ""},
    "office:incident_close": {"cause": "", "fish_lost": "some"},
    "office:incident_again": {"reason": ""},
    "office:rounds": {"first": "2020-01-01", "days": "90"},
    "office:away_new": {"last": "2020-01-01", "first": "2026-07-01"},
    "office:crew": {"where": "91.000, 5.000", "ends_2": "07:00"},
    "office:plan_agreed": {"visits_a_year": "0"},
    "office:planning": {"where": "in the yard", "detour": "9"},
    "office:round_move": {"technicians": "", "time": "25:00"},
    "office:entry_edit": {"die_low": "cold", "opt_low": "40"},
    "field:reading": {"value": "6.8.1"},
    "portal:log": {"ph": "seven"},
    "portal:done": {"day": "2031-01-01"},
    "portal:help": {"signs": "", "words": ""},
    "portal:away_new": {"first": "", "carer_name": "Robin"},
    "portal:away_edit": {"carer_phone": ""},
}
# forms whose refusal stands elsewhere than beside a field of the office's kind
BAD_AT = {
    "office:phone_copy": ({}, ".field-error"),
    "office:stand_in": ({"lines": "nobody"}, ".field-error"),
    "office:visit_release": ({}, ".errors"),
    "office:letter_again": ({}, ".errors"),
    "office:letter_arrived": ({}, ".errors"),
    "field:nobody": ({"reason": ""}, ".errors"),
    "field:wrong_place": ({"reason": ""}, ".errors"),
    "field:line": ({"outcome": "not_done"}, ".field-error[role=alert]"),
    "field:finding": ({"text": "", "sign": ""}, ".field-error, .errors"),
    "field:photo": ({"caption": "Roots"}, ".field-error, .errors"),
    "field:advice": ({"decision": "edit", "text": ""}, ".field-error"),
    "field:left_running": ({"note": ""}, ".errors"),
    "field:finish": ({}, ".errors"),
}
# whose rows a page is looked at with, where it is not those of the state itself
COMING = ("office:visit_step", "office:visit_move", "office:visit_answer")
OF = {"office:visit_offer": "offerable", "office:loop_recipe": "plants"}
ERROR_OF = {"office:visit_release": "coming", "office:letter_again": "sent",
            "office:letter_arrived": "sent"}  # fmt: skip


def role_of(name: str) -> str:
    """Return who looks at a page."""
    if name.startswith("field:"):
        return "technician"
    if name.startswith("portal:"):
        return "client"
    return "anonymous" if name == "accounts:login" else "office"


def _row(name: str, state: str = "full", of: str = "", **more: object) -> Row:
    of = (
        of
        or OF.get(name, "")
        or ("coming" if name in COMING else "phone" if name.startswith("field:") else "")
    )
    values = {"role": role_of(name), "kwargs": POLICIES[name].objects, "of": of} | more
    return Row(name, state=state, **values)  # type: ignore[arg-type]


def pages() -> list[str]:
    """Return the names of all pages."""
    return [name for name in POLICIES if not name.startswith("api:") and name not in NO_PAGE]


def _errors() -> list[Row]:
    plain = [_row(name, "error", sent=sent, status=422) for name, sent in BAD.items()]
    elsewhere = [
        _row(name, "error", of=ERROR_OF.get(name, ""), sent=sent, status=422, says=says)
        for name, (sent, says) in BAD_AT.items()
    ]
    return plain + elsewhere


def _empty() -> list[Row]:
    """Return the pages of an installation on its first day, and of a place that has nothing yet."""
    first_day = [
        _row(name, "empty", site="new")
        for name in (
            "office:due",
            "office:places",
            "office:systems",
            "office:proposals",
            "office:letters",
            "office:addresses",
            "office:phones",
            "office:days_off",
            "office:climate",
            "office:visit_days",
            "office:incidents",
            "office:rounds",
            "office:weather",
            "office:keeping",
        )
    ]
    bare = [
        _row(name, "empty", of="bare")
        for name in (
            "office:place", "office:system", "office:plan", "office:visit", "office:phone",
            "field:sheet",
            "field:measure", "field:findings", "field:advice", "portal:page", "portal:away",
        )
    ]  # fmt: skip
    return [
        *first_day, *bare,
        _row("office:search", "empty", query="?q=zzzzzz"),
        _row("office:call", "empty", query="?q=zzzzzz"),
        _row("office:reference_kind", "empty", query="?q=zzzzzz"),
        _row("field:round", "empty", site="new", role="office"),
    ]  # fmt: skip


def _more() -> list[Row]:
    """Return the other states worth a picture."""
    said = ".errors, .said-bad"
    return [
        _row("office:round_plan", "waiting", of="waiting"),
        _row("office:round_plan", "failed", of="failed"),
        _row("office:search", "found", query="?q=marsh"),
        _row("office:call", "found", query="?q=marsh"),
        _row("office:call_open", "bare", of="bare"),
        _row("office:incident", "asked-all", of="asked"),
        _row("office:incident", "closed", of="closed"),
        _row("office:weather_new", "in-danger", query="?show=risk"),
        _row("office:incidents", "closed", query="?show=closed"),
        _row("office:search", "first-day", query="?q=oak", site="new"),
        _row("office:places", "of-one-kind", query="?show=household"),
        _row("office:letters", "troubled", query="?show=troubled"),
        _row("office:letter", "waits", of="waits"),
        _row("office:client_letters", "empty", of="bare"),
        _row("office:client_access", "empty", query="?q=zzzzzz"),
        _row("office:letter_new", "seen", sent={"subject": "Your tank", "words": "All is well."}, says=".letter-text"),
        _row("office:visit", "pencilled", of="pencilled"),
        _row("office:visit", "coming", of="coming"),
        _row("office:visit", "offered", of="offered"),
        _row("office:visit", "lapsed", of="lapsed"),
        _row("office:visit", "lines-apart", of="apart", says="#apart"),
        _row("office:visit_offer", "open", of="offered"),
        _row("office:visit_offer", "settled", of="coming"),
        _row("office:visit", "under-way", of="phone"),
        _row("office:visit", "written-up", of="written_up"),
        _row("office:visit", "called-off", of="called_off"),
        _row("office:visit_step", "ask", of="pencilled", kwargs={"pk": "visit", "to": "booked"}),
        _row("office:book", "bare", of="bare"),
        # a Sunday, on which nobody works
        _row("office:book", "doubted", sent={"day": "2026-06-14", "start": "09:00", "end": "10:30"}, status=422, says="[name=all_the_same]"),
        _row("office:visit_move", "doubted", sent={"day": "2026-06-14"}, status=422, says="[name=all_the_same]"),
        _row("office:task_new", "late-at-once", sent={"anchor": "2019-06-03"}, status=422, says="[name=all_the_same]"),
        _row("office:task_new", "dates", sent={"preview": "1"}, says="#ahead"),
        _row("office:place_edit", "met", sent={"rev": "999", "street": "Weir Lane 30"}, status=422, says=".todo-pen"),
        _row("office:place_pin", "met", sent={"rev": "999", "where": "50.851000, 5.250000"}, status=422, says=".todo-pen"),
        _row("office:system_edit", "met", sent={"rev": "999", "name": "Another"}, status=422, says=".todo-pen"),
        _row("office:visit_move", "met", sent={"rev": "999"}, status=422, says=said),
        _row("office:entry_edit", "met", sent={"rev": "999", "die_low": "9"}, status=422, says=".todo-pen"),
        _row("office:ahead", "empty", of="bare"),
        _row("office:readings", "empty", of="bare"),
        _row("office:supply_list", "empty", of="bare"),
        _row("office:sowings", "answer", query=SOWING),
        _row("office:sowings", "error", query=SOWING + "&age_years=old", status=422, says=".field-error"),
        _row("office:sowings", "empty", of="bare"),
        _row("office:first_weeks", "starting", of="starting"),
        _row("office:first_weeks", "fish", query=FIRST_FISH),
        _row("office:first_weeks", "error", query=FIRST_FISH + "&water_c=99", status=422, says=".field-error"),
        _row("office:first_weeks", "empty", of="bare"),
        _row("office:what_if", "answer", query="?fewer=3&warmer_c=4&warm_days=7&pump_hours=3&pump_temp_c=31"),
        _row("office:what_if", "error", query="?warmer_c=99", status=422, says=".field-error"),
        _row("office:what_if", "empty", of="bare"),
        _row("office:calculator", "answer", query="?tan_mg_l=1.2&ph=7.4&temp_c=26"),
        _row("office:calculator", "error", query="?tan_mg_l=x&ph=99&temp_c=", status=422, says=".field-error"),
        _row("office:design", "answer", query=DESIGN),
        _row("office:survey", "empty", of="open"),
        _row("office:proposal", "unpriced", of="open"),
        _row("office:proposals", "expired", query="?show=expired"),
        _row("office:version_send", "outdated", of="open"),
        _row("portal:page", "proposal", of="wish"),
        _row("office:proposal", "built", of="built"),
        _row("office:design", "error", query=DESIGN + "&floor_kg_m2=many", status=422, says=".field-error"),
        # what was given today counts
        _row("office:loop_dosing", "given", query=DOSING, status=422, says=".field-error"),
        _row("office:loop_dosing", "acid", query=ACID),
        _row("office:loop_dosing", "iron", query=DOSING_IRON),
        _row("office:loop_dosing", "error", query=DOSING + "&tan=1.4&ca=some", status=422, says=".field-error"),
        _row("office:loop_recipe", "answer", query=RECIPE + "&salts=KNO3&factor=100"),
        _row("office:loop_recipe", "error", query=RECIPE + "&salts=KNO3&factor=many", status=422, says=".field-error"),
        _row("office:loop_recipe", "with-fish", of="done"),
        _row("field:visit", "coming", of="mine"),
        _row("field:reading", "harmful", sent={"value": "4.9"}, says=".stamp"),
        _row("field:reading", "refused", sent={"value": "71"}, says=".field-error"),
        _row("field:line", "met", sent={"base-outcome": "0", "outcome": "not_here"}, status=409,
             of="met", says="[role=alert]"),
        _row("field:result", "written-up", of="done"),
        _row("portal:page", "appointment", of="appointment"),
        _row("portal:page", "weather", of="weather"),
        _row("portal:help", "bare", of="bare"),
        _row("portal:help", "sent", of="sent"),
        _row("office:incident", "from-client", of="sent"),
        _row("portal:page", "cannot-come", of="cannot", says=".lead"),
        _row("portal:page", "times", of="times"),
        _row("portal:page", "times-over", of="over"),
        _row("portal:page", "times-none", of="times", sent={"answer": "none", "words": ""}, says=said),
        _row("portal:page", "on-the-way", of="road"),
        _row("office:visit", "on-the-way", of="road"),
        _row("portal:page", "revoked", of="revoked", status=404),
        _row("portal:page", "closed", of="closed", status=403, says=".alone"),
        _row("portal:page", "link-sent", of="closed", sent={}, status=403, says="[role=status]"),
        _row("accounts:calendars", "made", sent={}, says="#made"),
        _row("accounts:calendars", "technician", role="technician"),
        _row("portal:calendar", "made", sent={}, says="#made"),
        _row("portal:page", "error", of="appointment", sent={"answer": "other_time", "words": ""}, says=said),
        _row("accounts:login", "refused", sent={"username": "nobody-{plan}", "password": "wrong"},
             status=422, says=".errors"),
        _row("accounts:login", "limit", sent={"username": "limit", "password": "wrong"}, status=429, says=".errors"),
        _row("accounts:login", "too-old", sent={"csrfmiddlewaretoken": "x"}, status=403, says=".alone"),
        Row("page", "office", "not-found", path=f"/places/{NOBODY}/", status=404, says=".alone"),
        Row("page", "technician", "not-found-phone", path=f"/field/online/visits/{NOBODY}/", status=404, says=".alone"),
        Row("page", "anonymous", "not-found-anybody", path="/c/no-such-link/", status=404, says=".alone"),
        Row("page", "technician", "forbidden", path="/places/", status=403, says=".alone"),
        Row("page", "office", "not-read", path="/places/?show=nonsense", status=400, says=".alone"),
        Row("page", "office", "broken", path="/broken/", status=500, says=".alone"),
    ]  # fmt: skip


def rows() -> list[Row]:
    """Return every picture to take."""
    full = [_row(name, of="done" if name == "field:result" else "") for name in pages()]
    return full + _errors() + _empty() + _more()


def missing(held: list[Row]) -> list[str]:
    """Return what the table lacks, each as page and state, and what it holds without a page."""
    known = {(row.name, row.state) for row in held}
    found = [
        f"{name}: no row for its state 'full'" for name in pages() if (name, "full") not in known
    ]
    for name in pages():
        form = "POST" in POLICIES[name].methods
        excused = NO_ERROR if form else NO_EMPTY
        state = "error" if form else "empty"
        if ((name, state) in known) == (name in excused):
            found.append(f"{name}: a row for its state '{state}', or why there can be none")
    unknown = {*NO_PAGE, *NO_ERROR, *NO_EMPTY, *(row.name for row in held)} - {*POLICIES, "page"}
    return found + [f"{name}: no such page" for name in sorted(unknown)]
