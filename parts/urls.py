"""Addresses of parts, orders and wire."""

from django.urls import include, path

urlpatterns = [
    path("orders/", include("parts.orders.urls")),
    path("wire/", include("parts.scale.urls")),
    path("", include("parts.catalogue.urls")),
]
