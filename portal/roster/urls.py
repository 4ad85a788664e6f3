from __future__ import annotations

from django.urls import path

from portal.roster import ties, views, welcoming

app_name = "roster"
urlpatterns = [
    path("squads/<uuid:code>/people/", views.squad, name="squad"),
    path("squads/<uuid:code>/people.csv", views.export, name="export"),
    path("squads/<uuid:code>/people/add/", views.add, name="add"),
    path("squads/<uuid:code>/people/list/", views.take_list, name="list"),
    path("swimmers/<uuid:code>/people/", views.swimmer, name="swimmer"),
    path("swimmers/<uuid:code>/people/correct/", views.correct, name="correct"),
    path("swimmers/<uuid:code>/people/move/", views.move, name="move"),
    path("swimmers/<uuid:code>/people/leave/", views.leave, name="leave"),
    path("swimmers/<uuid:code>/people/guardian/", views.link, name="link"),
    path("swimmers/<uuid:code>/people/invite/", views.invite_grown_up, name="invite_grown_up"),
    path("guardians/<uuid:code>/end/", ties.end, name="end"),
    path("guardians/<uuid:code>/bar/", ties.bar, name="bar"),
    path("guardians/<uuid:code>/invite/", ties.invite, name="invite"),
    path("guardians/<uuid:code>/address/", ties.readdress, name="readdress"),
    path("children/<uuid:code>/sign-in/", welcoming.own_sign_in, name="own_sign_in"),
    path("welcome/", welcoming.welcome, name="welcome"),
    path("welcome/code/", welcoming.type_code, name="type_code"),
]
