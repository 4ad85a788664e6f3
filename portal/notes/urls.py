from __future__ import annotations

from django.urls import path

from portal.notes import views

app_name = "notes"
urlpatterns = [
    path("notes/", views.home, name="home"),
    path("notes/<uuid:code>/", views.notes, name="notes"),
    path("notes/clips/<uuid:code>/hide/", views.hide, name="hide"),
    path("notes/clips/<uuid:code>/show/", views.show_again, name="show_again"),
    path("stills/<uuid:code>.jpg", views.still, name="still"),
]
