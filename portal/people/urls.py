from __future__ import annotations

from django.urls import path

from portal.people import views

app_name = "people"
urlpatterns = [
    path("children/<uuid:code>/", views.child, name="child"),
    path("children/<uuid:code>/questions/", views.questions, name="questions"),
    path("children/<uuid:code>/reading/<uuid:tie>/", views.go_on_reading, name="go_on_reading"),
    path("policy/<uuid:code>/", views.policy, name="policy"),
    path("policy/<uuid:code>/change/", views.change_policy, name="change_policy"),
    path("squads/<uuid:code>/consent/", views.squad_answers, name="squad_answers"),
    path("swimmers/<uuid:code>/consent/", views.answers, name="answers"),
]
