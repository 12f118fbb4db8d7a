"""The URL tree."""

from django.conf import settings
from django.urls import include, path

from apps.core import views
from apps.core.mail_provider import event_addresses
from apps.portal.calendars import feed

urlpatterns = [
    path("livez", views.livez, name="livez"),
    path("readyz", views.readyz, name="readyz"),
    path("api/v1/", include("backyard.api_urls")),
    path("c/", include("apps.portal.urls")),
    path("calendar/<str:secret>.ics", feed, name="calendar"),
    path("account/", include("apps.accounts.urls")),
    path("field/", include("apps.field.urls")),
    path("", include("apps.office.urls")),
]
if settings.MAIL_PROVIDER:
    urlpatterns.append(path("mail-events/", include(event_addresses(settings.MAIL_PROVIDER))))
handler404 = "apps.core.views.not_found"
handler403 = "apps.core.views.forbidden"
handler400 = "apps.core.views.bad_request"
handler500 = "apps.core.views.broken"
