"""Addresses of the technician's pages."""

from django.urls import path

from apps.field.views import advising, closing, days, findings, readings, sheets, visits

app_name = "field"
SHEET = "visits/<uuid:pk>/sheets/<uuid:sheet>/"
urlpatterns = [
    path("", days.round_, name="round"),
    path("look/", days.look, name="look"),
    path("visits/<uuid:pk>/", visits.visit, name="visit"),
    path("visits/<uuid:pk>/start/", visits.start, name="start"),
    path("visits/<uuid:pk>/nobody/", visits.nobody, name="nobody"),
    path("visits/<uuid:pk>/wrong-place/", visits.wrong_place, name="wrong_place"),
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
    path("visits/<uuid:pk>/finish/", closing.finish, name="finish"),
    path("visits/<uuid:pk>/result/", closing.result, name="result"),
]
