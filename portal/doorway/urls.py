from __future__ import annotations

from django.urls import path

from portal.doorway import views

app_name = "doorway"
urlpatterns = [
    path("sign-in/", views.sign_in, name="sign_in"),
    path("sign-out/", views.sign_out, name="sign_out"),
    path("demo/", views.demo, name="demo"),
]
