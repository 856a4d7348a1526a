"""Addresses: wire sizes and string figures."""

from django.urls import path

from parts.scale import views

urlpatterns = [path("", views.wire_list, name="wire-list")]
