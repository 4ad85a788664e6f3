from __future__ import annotations

from django.urls import path

from portal.mailroom import outbox, views

app_name = "mailroom"
urlpatterns = [
    path("mail/", views.choices, name="choices"),
    path("mail/works/", views.works, name="works"),
    path("clubs/<uuid:code>/outbox/", outbox.outbox, name="outbox"),
    path("mails/<uuid:code>/again/", outbox.send_again, name="send_again"),
    path("mail/<str:letters>/", views.stop, name="stop"),
]
