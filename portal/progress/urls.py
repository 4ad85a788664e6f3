from __future__ import annotations

from django.urls import path

from portal.progress import views

app_name = "progress"
urlpatterns = [
    path("swimmers/", views.swimmers, name="swimmers"),
    path("swimmers/<uuid:code>/", views.swimmer, name="swimmer"),
    path("squads/<uuid:code>/progress/", views.squad, name="squad"),
    path("squads/<uuid:code>/disputes/", views.disputes, name="disputes"),
    path("squads/<uuid:code>/open-items/", views.open_items, name="open_items"),
]
