from __future__ import annotations

from django.urls import path

from portal.digests import views

app_name = "digests"
urlpatterns = [
    path("clubs/<uuid:code>/weekly/", views.weekly, name="weekly"),
]
