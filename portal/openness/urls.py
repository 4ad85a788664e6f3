from __future__ import annotations

from django.urls import path

from portal.openness import concern, views

app_name = "openness"
urlpatterns = [
    path("concern/sent/", concern.sent, name="sent"),
    path("cases/", views.cases, name="cases"),
    path("cases/<uuid:code>/", views.case, name="case"),
    path("footage/", views.footage, name="footage"),
    path("footage/<uuid:code>/", views.film, name="film"),
    path("suspensions/", views.people, name="people"),
    path("suspensions/<uuid:code>/", views.person, name="person"),
    path("record/", views.record, name="record"),
    path("communications/", views.communications, name="communications"),
    path("communications/notes/", views.said, name="said"),
    path("emergency-look/", views.emergency_look, name="emergency_look"),
    path("emergency-look/<uuid:code>/end/", views.end_look, name="end_look"),
]
