from __future__ import annotations

from django.urls import path

from portal.reports import views

app_name = "reports"
urlpatterns = [
    path("sessions/<uuid:code>/sheet/", views.sheet, name="sheet"),
    path("sheets/<uuid:code>.pdf", views.pdf, name="pdf"),
]
