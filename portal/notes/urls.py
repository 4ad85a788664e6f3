from __future__ import annotations

from django.urls import path

from portal.notes import views

app_name = "notes"
urlpatterns = [
    path("notes/", views.home, name="home"),
    path("notes/<uuid:code>/", views.notes, name="notes"),
    path("stills/<uuid:code>.jpg", views.still, name="still"),
]
