from __future__ import annotations

from django.urls import path

from portal.planning import views

app_name = "planning"
urlpatterns = [
    path("lanes/", views.plans, name="plans"),
    path("lane-plans/<uuid:code>/", views.plan, name="plan"),
    path("lane-plans/<uuid:code>/seats/", views.seat, name="seat"),
    path("lane-plans/<uuid:code>/sheet/", views.sheet, name="sheet"),
    path("lanes/<uuid:code>/", views.lane, name="lane"),
    path("sessions/<uuid:code>/film-list/proposal/", views.film_list, name="film_list"),
]
