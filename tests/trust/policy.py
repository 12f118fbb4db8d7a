"""Who may use which address: every page and every operation has its row here.

`who` names the roles that the address is for: office, technician, link (whoever holds a client's
link), anyone. `objects` says whose row each part of the address names.
"""

from dataclasses import dataclass, field


@dataclass(frozen=True)
class Policy:
    """One address. `methods`: what it takes; `body`: what a write is tried with."""

    who: frozenset[str]
    methods: tuple[str, ...] = ("GET",)
    objects: dict[str, str] = field(default_factory=dict)
    body: dict[str, str] = field(default_factory=dict)
    # a technician reads here but writes only with the office's word
    writes: frozenset[str] | None = None
    # the page is the same for everybody and holds nobody's data, so that a phone may keep it
    kept: bool = False


OFFICE = frozenset({"office"})
STAFF = frozenset({"office", "technician"})
TECHNICIAN = frozenset({"technician"})
LINK = frozenset({"link"})
ANYONE = frozenset({"anyone"})


def api(who: frozenset[str], *methods: str, **objects: str) -> Policy:
    """Return the policy of an operation of the API."""
    return Policy(who, methods or ("GET",), objects)


POLICIES: dict[str, Policy] = {
    "livez": Policy(ANYONE),
    "readyz": Policy(ANYONE),
    "accounts:login": Policy(ANYONE, ("GET", "POST")),
    "accounts:logout": Policy(STAFF, ("POST",)),
    "accounts:sessions": Policy(STAFF, ("GET", "POST")),
    "accounts:calendars": Policy(STAFF, ("GET", "POST")),
    "accounts:calendar_end": Policy(STAFF, ("POST",), {"pk": "own_feed"}),
    "calendar": Policy(LINK, ("GET",), {"secret": "feed_secret"}),
    "portal:calendar": Policy(LINK, ("GET", "POST"), {"secret": "secret"}),
    "portal:calendar_end": Policy(LINK, ("POST",), {"secret": "secret", "feed": "feed"}),
    "portal:log": Policy(LINK, ("GET", "POST"), {"secret": "secret", "system": "system"}),
    "portal:done": Policy(LINK, ("GET", "POST"), {"secret": "secret", "system": "system"}),
    "portal:help": Policy(LINK, ("GET", "POST"), {"secret": "secret", "system": "system"},
                          {"key": "fresh", "signs": "[gasping]"}),
    "portal:away_new": Policy(LINK, ("GET", "POST"), {"secret": "secret"}),
    "portal:away": Policy(LINK, ("GET",), {"secret": "secret", "pk": "away"}),
    "portal:away_edit": Policy(LINK, ("GET", "POST"), {"secret": "secret", "pk": "away"}),
    "portal:away_end": Policy(LINK, ("GET", "POST"), {"secret": "secret", "pk": "away"}),
    "portal:photo": Policy(LINK, ("GET",), {"secret": "secret", "photo": "photo"}),
    "portal:page": Policy(LINK, ("GET",), {"secret": "secret"}),
    "portal:close": Policy(LINK, ("POST",), {"secret": "secret"}),
    # a link's number alone has a new link sent to its reader
    "portal:again": Policy(LINK | {"number"}, ("POST",), {"secret": "secret"}),
    "portal:answer": Policy(LINK, ("POST",), {"secret": "secret", "visit": "visit"},
                            {"answer": "confirmed"}),
    "portal:letters": Policy(LINK, ("GET", "POST"), {"secret": "secret"}, {"reports_as": "link"}),
    "portal:letters_stop": Policy(LINK, ("GET", "POST"), {"secret": "secret"},
                                  {"List-Unsubscribe": "One-Click"}),
    "portal:weather": Policy(LINK, ("POST",), {"secret": "secret", "ask": "ask"},
                             {"reply": "done"}),
    "portal:times": Policy(LINK, ("POST",), {"secret": "secret", "offer": "offer"},
                           {"time": "time"}),
    "portal:report": Policy(LINK, ("GET",), {"secret": "secret", "version": "version"}),
    "portal:proposal": Policy(LINK, ("GET",), {"secret": "secret", "version": "proposal_version"}),
    "portal:proposal_said": Policy(LINK, ("POST",), {"secret": "secret", "version": "proposal_version"},
                                   {"kind": "wanted"}),
    "api:schema": api(STAFF),
    "api:due": api(STAFF),
    "api:systems": api(STAFF),
    "api:visit_days": api(STAFF),
    "api:system": api(STAFF, pk="system"),
    "api:system_ahead": api(STAFF, pk="system"),
    "api:meter_readings": api(STAFF, pk="system"),
    "api:feed_counts": Policy(STAFF, ("GET", "POST"), {"pk": "system"}, {
        "amount_g": "x", "counted_at": "2026-06-11T08:00:00Z",
    }),
    "api:meter_withdrawal": Policy(OFFICE, ("POST",), {"pk": "counted"}, {"reason": "x"}),
    "api:places": api(STAFF),
    "api:place_climate": Policy(OFFICE, ("GET", "PUT", "DELETE"), {"pk": "place"}, {"months": "[]"}),
    "api:client_photos": Policy(OFFICE, ("GET", "PUT"), {"pk": "client"},
                                {"use": "no", "how": "at the door"}),
    "api:climate": Policy(OFFICE, ("GET", "PUT", "DELETE"), {}, {"months": "[]"}),
    "api:technicians": api(STAFF),
    "api:visits": Policy(STAFF, ("GET", "POST"), {}, {
        "place": "place", "systems": "[system]", "technicians": "[ana]",
        "start": "2026-06-20T08:00:00Z", "end": "2026-06-20T09:00:00Z",
    }, writes=OFFICE),
    "api:visit": Policy(STAFF, ("GET", "PATCH"), {"pk": "visit"}, {"start": "2026-06-20T08:00:00Z"},
                        writes=OFFICE),
    "api:transition": Policy(STAFF, ("POST",), {"pk": "visit"}, {"to": "under_way"}),
    "api:assessment": api(STAFF, pk="visit"),
    "api:values": Policy(STAFF, ("PUT",), {"pk": "visit"}, {}),
    "api:submission": Policy(STAFF, ("POST",), {"pk": "visit"}, {}),
    "api:visit_reports": api(STAFF, pk="visit"),
    "api:visit_times": api(OFFICE, pk="visit"),
    "api:visit_offer": Policy(OFFICE, ("GET", "POST"), {"pk": "visit"}, {}),
    "api:visit_offer_withdraw": Policy(OFFICE, ("POST",), {"pk": "visit"}),
    "api:visit_offer_pick": Policy(OFFICE, ("POST",), {"pk": "visit"}, {"time": "time"}),
    "api:photos": Policy(STAFF, ("POST",), {"pk": "visit"}, {}),
    "api:photo": api(STAFF, pk="photo"),
    "api:release": Policy(OFFICE, ("POST",), {"pk": "report"}),
    "api:report_pdf": api(STAFF, pk="report"),
    "api:correction": Policy(OFFICE, ("POST",), {"pk": "reading"}, {"value": "6.5", "reason": "x"}),
    "api:round_plans": Policy(OFFICE, ("GET", "POST"), {}, {"first": "2026-06-15"}),
    "api:round_plan": api(OFFICE, pk="round_plan"),
    "api:round_plan_accept": Policy(OFFICE, ("POST",), {"pk": "round_plan"}),
    "api:round_plan_drop": Policy(OFFICE, ("POST",), {"pk": "round_plan"}),
    "api:round_plan_move": Policy(
        OFFICE, ("POST",), {"pk": "round_plan"},
        {"stop": "x", "technicians": "[ana]", "day": "2026-06-15"},
    ),
    "api:round_plan_absence": Policy(
        OFFICE, ("POST",), {"pk": "round_plan"},
        {"technician": "ana", "first": "2026-06-15", "last": "2026-06-15"},
    ),
    "api:absences": Policy(
        OFFICE, ("GET", "POST"), {}, {"technician": "ana", "first": "2026-06-15", "last": "2026-06-14"}
    ),
    "api:absence": Policy(OFFICE, ("DELETE",), {"pk": "absence"}),
    "api:absence_instead": Policy(OFFICE, ("GET", "POST"), {"pk": "absence"}, {"lines": "[]"}),
    "api:calendars": Policy(STAFF, ("GET", "POST"), {}, {}),
    "api:calendar": Policy(STAFF, ("DELETE",), {"pk": "own_feed"}),
    "api:letters": api(OFFICE),
    "api:letter_again": Policy(OFFICE, ("POST",), {"pk": "letter"}),
    "api:letter_now": Policy(OFFICE, ("POST",), {"pk": "letter"}),
    "api:incidents": Policy(STAFF, ("GET", "POST"), {}, {"system": "system", "kind": "gasping"},
                            writes=OFFICE),
    "api:incident": api(STAFF, pk="incident"),
    "api:incident_notes": Policy(STAFF, ("POST",), {"pk": "incident"}, {"text": "pump"}),
    "api:incident_close": Policy(OFFICE, ("POST",), {"pk": "incident"},
                                 {"cause": "air", "outcome": "well"}),
    "api:surveys": Policy(OFFICE, ("GET", "POST"), {}, {
        "place": "place", "on": "2026-06-10", "surveyed_by": "x",
    }),
    "api:survey": Policy(OFFICE, ("GET", "PATCH"), {"pk": "survey"}, {"wants": "x"}),
    "api:survey_photos": Policy(OFFICE, ("POST",), {"pk": "survey"}, {}),
    "api:survey_photo": Policy(OFFICE, ("GET", "DELETE"), {"pk": "survey_photo"}),
    "api:prices": Policy(OFFICE, ("GET", "PATCH"), {}, {"prices": "{}"}),
    "api:harvest_prices": Policy(OFFICE, ("GET", "PATCH"), {}, {"prices": "[]"}),
    "api:proposals": Policy(OFFICE, ("GET", "POST"), {}, {
        "place": "place", "name": "x", "by": "beds", "amount": "4", "crop_group": "leafy",
        "bed_kind": "raft", "species": "nile_tilapia", "winter_c": "18", "summer_c": "30",
    }),
    "api:proposal": Policy(OFFICE, ("GET", "PATCH"), {"pk": "proposal"}, {"words": "x"}),
    "api:proposal_versions": Policy(OFFICE, ("GET", "POST"), {"pk": "proposal"}),
    "api:proposal_version_pdf": api(OFFICE, pk="proposal_version"),
    "api:proposal_version_send": Policy(OFFICE, ("POST",), {"pk": "proposal_version"}),
    "api:proposal_answer": Policy(OFFICE, ("POST",), {"pk": "proposal"}, {"answer": "declined"}),
    "api:proposal_build": Policy(OFFICE, ("POST",), {"pk": "proposal"}, {"name": "x"}),
    "api:phone_session": Policy(ANYONE, ("GET", "POST", "DELETE"), {}, {}),
    "api:phone_day": api(TECHNICIAN),
    "api:phone_operations": Policy(STAFF, ("POST",), {}, {}),
    "api:phone_contact": Policy(STAFF, ("POST",), {}, {}),
    "api:phone_photo": Policy(STAFF, ("GET", "PATCH"), {"pk": "fresh"}, {}),
    "api:phone_copy": Policy(OFFICE, ("POST",), {}, {}),
    "api:calculators": api(STAFF),
    "api:calculate": Policy(STAFF, ("POST",), {"name": "ammonia"}, {}),
    "api:catalogue": api(STAFF, kind="species"),
}  # fmt: skip


def desk(*methods: str, **objects: str) -> Policy:
    """Return the policy of a page of the office."""
    return Policy(OFFICE, methods or ("GET",), objects)


def form(**objects: str) -> Policy:
    """Return the policy of a form of the office."""
    return Policy(OFFICE, ("GET", "POST"), objects)


def phone(*methods: str, **objects: str) -> Policy:
    """Return the policy of a page of the phone."""
    return Policy(STAFF, methods or ("GET",), objects)


SHEET = {"pk": "visit", "sheet": "sheet"}
POLICIES |= {
    **{f"office:{name}": desk() for name in (
        "due", "due_csv", "places", "places_csv", "systems", "systems_csv", "letters",
        "letters_csv", "phones", "calculators", "reference", "search", "days_off",
        "visit_days", "call", "incidents", "incidents_csv", "weather", "climate", "proposals",
        "proposals_csv",
    )},
    "office:place": desk(pk="place"),
    "office:place_new": form(),
    "office:holidays": form(),
    "office:closure_new": form(),
    "office:closure_end": form(pk="closure"),
    "office:climate_edit": form(),
    "office:climate_place": form(pk="place"),
    "office:climate_end": form(pk="climate"),
    "office:standing_new": form(pk="place"),
    "office:standing_end": form(pk="standing"),
    **{f"office:{name}": form(pk="place") for name in (
        "place_edit", "place_pin", "client_edit", "contact_new", "links_end", "hours", "source_new",
        "call_new", "system_new", "design", "survey_new",
    )},
    "office:survey_blank_pdf": desk(pk="place"),
    "office:survey": desk(pk="survey"),
    "office:survey_edit": form(pk="survey"),
    "office:survey_pdf": desk(pk="survey"),
    "office:prices": form(),
    "office:currency": form(),
    "office:harvest_prices": form(),
    "office:proposal": desk(pk="proposal"),
    "office:proposal_edit": form(pk="proposal"),
    "office:proposal_draw": desk("POST", pk="proposal"),
    "office:proposal_answer": form(pk="proposal"),
    "office:proposal_build": form(pk="proposal"),
    "office:proposal_pdf": desk(pk="proposal_version"),
    "office:version_send": form(pk="proposal_version"),
    "office:word_noted": desk("POST", pk="proposal_word"),
    "office:survey_photos": form(pk="survey"),
    "office:survey_photo": desk(pk="survey_photo"),
    "office:survey_photo_end": form(pk="survey_photo"),
    "office:contact_edit": form(pk="place", contact_pk="contact"),
    "office:system": desk(pk="system"),
    "office:ahead": form(pk="system"),
    "office:what_if": desk(pk="system"),
    "office:readings": desk(pk="system"),
    "office:sowings": desk(pk="system"),
    "office:supply_list": desk(pk="system"),
    "office:supply_list_csv": desk(pk="system"),
    "office:first_weeks": desk(pk="system"),
    "office:first_weeks_start": form(pk="system"),
    "office:readings_csv": desk(pk="system"),
    **{f"office:{name}": form(pk="system") for name in (
        "system_edit", "book", "component_new", "flow_new", "plan_make", "plan_agreed", "task_new",
        "fish_stock", "treat", "plant_new",
    )},
    "office:plan": desk(pk="system"),
    "office:task_edit": form(pk="task"),
    "office:meter_new": form(pk="metered"),
    "office:feed_new": form(pk="system"),
    "office:meter_end": form(pk="counted"),
    "office:fish_weigh": form(pk="batch"),
    "office:fish_deaths": form(pk="batch"),
    "office:fish_taken": form(pk="batch"),
    "office:plant_out": form(pk="planting"),
    "office:plant_pick": form(pk="planting"),
    "office:loop_edit": form(pk="loop"),
    "office:loop_dosing": form(pk="loop"),
    "office:loop_recipe": desk(pk="loop"),
    "office:component_edit": form(pk="component"),
    "office:component_swap": form(pk="component"),
    "office:component_remove": form(pk="component"),
    "office:flow_remove": form(pk="flow"),
    "office:visit": desk(pk="visit"),
    "office:visit_move": form(pk="visit"),
    "office:visit_lines": desk("POST", pk="visit"),
    "office:visit_answer": form(pk="visit"),
    "office:visit_offer": form(pk="visit"),
    "office:offer_back": form(pk="offer"),
    "office:offer_pick": form(pk="offer"),
    "office:visit_release": form(pk="visit"),
    "office:visit_step": form(pk="visit", to="called_off"),
    "office:reading_correct": form(pk="reading"),
    "office:advice_end": form(pk="advice", how="dropped"),
    "office:advice_undo": desk("POST", pk="advice"),
    "office:report_pdf": desk(pk="report"),
    "office:report_draw": form(pk="report"),
    "office:report_note": form(pk="report"),
    "office:report_release": form(pk="summary"),
    "office:summaries": form(pk="system"),
    "office:photo": desk(pk="photo"),
    "office:reading_photo": desk(pk="reading_photo"),
    "office:incident_photo": desk(pk="incident_photo"),
    "office:letter": desk(pk="letter"),
    "office:letter_now": desk("POST", pk="letter"),
    "office:letter_mail": desk(pk="letter"),
    "office:addresses": desk(),
    "office:notices": form(),
    "office:client_letters": desk(pk="client"),
    "office:client_data": desk(pk="client"),
    "office:client_data_save": desk("POST", pk="client"),
    "office:client_photos": form(pk="client"),
    "office:client_erase": form(pk="client"),
    "office:client_access": desk(pk="client"),
    "office:client_access_csv": desk(pk="client"),
    "office:keeping": desk(),
    "office:letter_new": form(pk="client", kind="own"),
    "office:address_noted": desk("POST", pk="blocked"),
    "office:address_again": form(pk="blocked"),
    "office:quiet": form(),
    "office:paper": form(),
    "office:letter_again": form(pk="letter"),
    "office:letter_arrived": form(pk="letter"),
    "office:phone": desk(pk="phone"),
    "office:phone_cut": form(pk="phone"),
    "office:phone_copy": form(),
    "office:phones_looked": Policy(OFFICE, ("POST",), {}, {"remark": "remark"}),
    "office:check_in_heard": desk("POST", pk="check_in"),
    "office:call_open": form(pk="system"),
    "office:incident": form(pk="incident"),
    "office:incident_close": form(pk="incident"),
    "office:incident_again": form(pk="incident"),
    "office:running_late": form(pk="incident", visit="visit"),
    "office:rounds": form(),
    "office:away_new": form(),
    "office:stand_in": form(pk="absence"),
    "office:away_end": desk("POST", pk="absence"),
    "office:crew": form(pk="ana"),
    "office:planning": form(),
    "office:round_plan": desk(pk="round_plan"),
    "office:round_accept": desk("POST", pk="round_plan"),
    "office:round_drop": desk("POST", pk="round_plan"),
    "office:round_move": form(pk="round_plan", stop="stop"),
    "office:weather_new": form(kind="heat"),
    "office:weather_watch": desk(pk="watch"),
    "office:calculator": desk(name="ammonia"),
    "office:reference_kind": desk(kind="species"),
    "office:reference_csv": desk(kind="species"),
    "office:entry": desk(kind="species", code="nile_tilapia"),
    "office:entry_edit": form(kind="species", code="nile_tilapia"),
    "office:entry_restore": form(kind="species", code="nile_tilapia"),
    "field:app": Policy(ANYONE, ("GET",), {"rest": ""}, kept=True),
    "field:worker": Policy(ANYONE),
    "field:manifest": Policy(ANYONE),
    "field:module": Policy(ANYONE, ("GET",), {"name": "main.js"}),
    "field:round": phone(),
    "field:day_pdf": phone(pk="technician"),
    "field:look": phone("POST"),
    "field:visit": phone(pk="visit"),
    "field:start": phone("POST", pk="visit"),
    "field:nobody": phone("GET", "POST", pk="visit"),
    "field:wrong_place": phone("GET", "POST", pk="visit"),
    "field:sheet": phone(**SHEET),
    "field:line": phone("GET", "POST", line="line", **SHEET),
    "field:undo": phone("POST", **SHEET),
    "field:measure": phone(**SHEET),
    "field:reading": phone("GET", "POST", loop="loop", measurand="ph", when="before", turn="1", **SHEET),
    "field:findings": phone(**SHEET),
    "field:finding": phone("GET", "POST", key="key", **SHEET),
    "field:photo": phone("GET", "POST", **SHEET),
    "field:advice": phone("GET", "POST", **SHEET),
    "field:left_running": phone("GET", "POST", **SHEET),
    "field:finish": phone("GET", "POST", pk="visit"),
    "field:result": phone(pk="visit"),
}  # fmt: skip
WORDS = frozenset({
    "", "main.js", "fresh", "own",
    "ammonia", "heat", "species", "nile_tilapia", "called_off", "dropped", "ph",
    "before", "1", "gasping",
})  # fmt: skip
