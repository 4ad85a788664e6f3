from __future__ import annotations

from django.urls import path

from portal.notes import offline, season, talk, views

app_name = "notes"
urlpatterns = [
    path("notes/", views.home, name="home"),
    path("notes/<uuid:code>/", views.notes, name="notes"),
    path("notes/week/<uuid:code>/", season.week, name="week"),
    path("notes/over-time/<uuid:code>/", season.over_time, name="over_time"),
    path("notes/hand-over/<uuid:code>/", season.hand_over, name="hand_over"),
    path("notes/hand-back/", season.hand_back, name="hand_back"),
    path("notes/kept.json", offline.shelf, name="shelf"),
    path("notes/not-kept/", offline.not_kept, name="not_kept"),
    path("notes/worker.js", offline.worker, name="worker"),
    path("notes/manifest.webmanifest", offline.manifest, name="manifest"),
    path("notes/waiting/", talk.waiting, name="waiting"),
    path("notes/<uuid:code>/say/", talk.say, name="say"),
    path("notes/<uuid:code>/answer/", talk.answer, name="answer"),
    path("notes/clips/<uuid:code>/hide/", views.hide, name="hide"),
    path("notes/clips/<uuid:code>/show/", views.show_again, name="show_again"),
    path("stills/<uuid:code>.jpg", views.still, name="still"),
]
