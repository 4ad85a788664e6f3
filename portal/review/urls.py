from __future__ import annotations

from django.urls import path

from portal.review import deck, views

app_name = "review"
urlpatterns = [
    path("clips/<uuid:code>/", views.bench, name="bench"),
    path("sessions/<uuid:code>/deck/", deck.sheet, name="deck"),
    path("sessions/<uuid:code>/deck/<uuid:swimmer>/", deck.notes, name="deck_notes"),
    path("deck-notes/<uuid:code>/", deck.take_out, name="take_out"),
    path("technique/<slug:stroke>/words.json", views.words, name="words"),
    path("clips/<uuid:code>/comments/", views.write, name="write"),
    path("comments/<uuid:code>/", views.change, name="change"),
    path("comments/<uuid:code>/drop/", views.drop, name="drop"),
    path("comments/<uuid:code>/restore/", views.restore, name="restore"),
    path("reviews/<uuid:code>/publish/", views.publish, name="publish"),
    path("reviews/<uuid:code>/take-back/", views.take_back, name="take_back"),
]
