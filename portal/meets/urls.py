from __future__ import annotations

from django.urls import path

from portal.meets import views

app_name = "meets"
urlpatterns = [
    path("meets/", views.meets, name="meets"),
    path("meets/<uuid:code>/", views.meet, name="meet"),
    path("meets/<uuid:code>/enter/", views.enter, name="enter"),
    path("entries/<uuid:code>/withdraw/", views.withdraw, name="withdraw"),
    path("entries/<uuid:code>/slip/", views.slip, name="slip"),
]
