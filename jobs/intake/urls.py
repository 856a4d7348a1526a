"""Addresses: instruments, clients, enquiries."""

from django.urls import URLPattern, path

from jobs.intake import views

urlpatterns: list[URLPattern] = [
    path("clients/", views.client_list, name="client-list"),
    path("clients/new/", views.client_new, name="client-new"),
    path("clients/<int:pk>/", views.client_show, name="client-show"),
    path("clients/<int:pk>/change/", views.client_change, name="client-change"),
    path("instruments/new/", views.instrument_new, name="instrument-new"),
    path("instruments/<int:number>/change/", views.instrument_change, name="instrument-change"),
    path("enquiries/", views.enquiry_list, name="enquiry-list"),
    path("enquiries/new/", views.enquiry_new, name="enquiry-new"),
    path("enquiries/<int:pk>/decline/", views.enquiry_decline, name="enquiry-decline"),
]
