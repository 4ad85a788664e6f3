from __future__ import annotations

from django.urls import path

from portal.poolside import views

app_name = "poolside"
urlpatterns = [
    path("sessions/<uuid:code>/film-list/", views.film_list, name="film_list"),
    path("turns/<uuid:code>/", views.turn, name="turn"),
    path("turns/<uuid:code>/wishes/", views.wishes, name="wishes"),
]
