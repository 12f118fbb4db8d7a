"""Addresses of this app."""

from django.urls import path

from apps.accounts import views

app_name = "accounts"
urlpatterns = [
    path("login/", views.login, name="login"),
    path("logout/", views.logout, name="logout"),
    path("sessions/", views.sessions, name="sessions"),
    path("calendars/", views.calendars, name="calendars"),
    path("calendars/<uuid:pk>/end/", views.calendar_end, name="calendar_end"),
]
