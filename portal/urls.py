"""All addresses; each has a row in tests/access_table.csv."""

from __future__ import annotations

from django.urls import include, path

from portal.kit import stopping
from portal.kit.views import health
from portal.openness.concern import concern
from portal.review.views import home

urlpatterns = [
    path("", home, name="home"),
    path("concern/", concern, name="concern"),
    path("health/", health, name="health"),
    path("", include("portal.doorway.urls")),
    path("", include("portal.mailroom.urls")),
    path("", include("portal.clubhouse.urls")),
    path("", include("portal.roster.urls")),
    path("", include("portal.people.urls")),
    path("", include("portal.recordings.urls")),
    path("", include("portal.poolside.urls")),
    path("", include("portal.openness.urls")),
    path("", include("portal.review.urls")),
    path("", include("portal.technique.urls")),
    path("", include("portal.notes.urls")),
    path("", include("portal.progress.urls")),
    path("", include("portal.planning.urls")),
    path("", include("portal.meets.urls")),
    path("", include("portal.digests.urls")),
    path("", include("portal.reports.urls")),
]

handler400 = stopping.bad_request
handler403 = stopping.forbidden
handler404 = stopping.missing
handler500 = stopping.broken
