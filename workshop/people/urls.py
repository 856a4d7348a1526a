"""Addresses: signing in and out, and the people of the house."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
