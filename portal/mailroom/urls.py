from __future__ import annotations

from django.urls import path

from portal.mailroom import views

app_name = "mailroom"
urlpatterns = [
    path("mail/", views.choices, name="choices"),
    path("mail/<str:letters>/", views.stop, name="stop"),
]
