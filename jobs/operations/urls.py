"""Addresses: the Norms room."""

from django.urls import URLPattern, path

from jobs.operations import views

urlpatterns: list[URLPattern] = [
    path("norms/", views.norm_list, name="norms-list"),
    path("norms/<slug:code>/", views.norm, name="norm-show"),
    path("norms/<slug:code>/change/", views.change, name="norm-change"),
]
