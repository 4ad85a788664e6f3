from __future__ import annotations

from django.urls import path

from portal.clubhouse import views

app_name = "clubhouse"
urlpatterns = [
    path("search/", views.search, name="search"),
    path("club/", views.first_evening, name="first_evening"),
    path("club/mail/", views.try_mail, name="try_mail"),
    path("club/settings/", views.settings, name="settings"),
    path("club/seasons/", views.seasons, name="seasons"),
    path("club/pools/", views.pools, name="pools"),
    path("club/squads/", views.squads, name="squads"),
    path("club/left/", views.left, name="left"),
    path("club/people/", views.staff, name="staff"),
    path("club/people/<uuid:code>/end/", views.end_role, name="end_role"),
]
