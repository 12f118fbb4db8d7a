"""Addresses of the technician's pages."""

from django.urls import path, re_path

from apps.field.views import (
    advising,
    app,
    closing,
    days,
    findings,
    paper,
    readings,
    sheets,
    visits,
)

app_name = "field"
ONLINE = "online/"
SHEET = f"{ONLINE}visits/<uuid:pk>/sheets/<uuid:sheet>/"
urlpatterns = [
    path("sw.js", app.worker, name="worker"),
    path("app.webmanifest", app.manifest, name="manifest"),
    path("m/<str:name>", app.module, name="module"),
    path(ONLINE, days.round_, name="round"),
    path(ONLINE + "look/", days.look, name="look"),
    path(ONLINE + "people/<uuid:pk>/pdf/", paper.day_pdf, name="day_pdf"),
    path(ONLINE + "visits/<uuid:pk>/", visits.visit, name="visit"),
    path(ONLINE + "visits/<uuid:pk>/start/", visits.start, name="start"),
    path(ONLINE + "visits/<uuid:pk>/nobody/", visits.nobody, name="nobody"),
    path(ONLINE + "visits/<uuid:pk>/wrong-place/", visits.wrong_place, name="wrong_place"),
    path(SHEET, sheets.sheet, name="sheet"),
    path(SHEET + "lines/<uuid:line>/", sheets.line, name="line"),
    path(SHEET + "undo/", sheets.undo, name="undo"),
    path(SHEET + "readings/", readings.measure, name="measure"),
    path(
        SHEET + "readings/<uuid:loop>/<slug:measurand>/<slug:when>/<int:turn>/",
        readings.reading,
        name="reading",
    ),
    path(SHEET + "findings/", findings.findings, name="findings"),
    path(SHEET + "findings/<uuid:key>/", findings.finding, name="finding"),
    path(SHEET + "photos/", findings.photo, name="photo"),
    path(SHEET + "advice/", advising.advice, name="advice"),
    path(SHEET + "left-running/", closing.left_running, name="left_running"),
    path(ONLINE + "visits/<uuid:pk>/finish/", closing.finish, name="finish"),
    path(ONLINE + "visits/<uuid:pk>/result/", closing.result, name="result"),
    # the page of the phone finds its own way below this
    re_path(r"^(?P<rest>(visits/[0-9a-z/_-]*|settle/|phone/)?)$", app.app, name="app"),
]
