"""Addresses: the Workshop room."""

from django.urls import URLPattern, path

from workshop.house import views

urlpatterns: list[URLPattern] = [
    path("", views.show, name="house-show"),
    path("change/", views.change, name="house-change"),
    path("places/new/", views.place_new, name="place-new"),
    path("places/<int:pk>/", views.place_change, name="place-change"),
    path("closures/new/", views.closure_new, name="closure-new"),
    path("closures/<int:pk>/take-back/", views.closure_take_back, name="closure-take-back"),
]
