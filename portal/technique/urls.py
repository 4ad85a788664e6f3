from __future__ import annotations

from django.urls import path

from portal.technique import carrying, own, views

app_name = "technique"
urlpatterns = [
    path("technique/", views.strokes, name="strokes"),
    path("technique/search/", views.search, name="search"),
    path("technique/own/", own.own, name="own"),
    path("technique/own/take/<slug:kind>/", carrying.take, name="take"),
    path("technique/own/bring/", carrying.bring, name="bring"),
    path("technique/own/add/<slug:table>/", own.add, name="add"),
    path("technique/own/month/<uuid:code>/", own.month, name="month"),
    path("technique/own/<slug:table>/<slug:slug>/", own.reword, name="reword"),
    path("technique/own/<slug:table>/<slug:slug>/retire/", own.retire, name="retire"),
    path("technique/faults/<slug:slug>/", views.fault, name="fault"),
    path("technique/checkpoints/<slug:slug>/", views.checkpoint, name="checkpoint"),
    path("technique/drills/<slug:slug>/", views.drill, name="drill"),
    path("technique/rules/<slug:slug>/", views.rule, name="rule"),
    path("technique/<slug:stroke>/", views.stroke, name="stroke"),
    path("technique/<slug:stroke>/rules/", views.rules, name="rules"),
]
