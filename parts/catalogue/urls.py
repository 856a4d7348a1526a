"""Addresses: the catalogue of parts and the shelf. A part's own page belongs to the jobs that need it."""

from django.urls import path

from parts.catalogue import views

urlpatterns = [
    path("", views.part_list, name="parts-list"),
    path("part/new/", views.part_new, name="part-new"),
    path("part/<slug:code>/change/", views.part_change, name="part-change"),
    path("part/<slug:code>/shelf/", views.shelf_move, name="shelf-move"),
    path("suppliers/", views.supplier_list, name="supplier-list"),
    path("suppliers/new/", views.supplier_new, name="supplier-new"),
    path("suppliers/<int:pk>/", views.supplier_show, name="supplier-show"),
    path("suppliers/<int:pk>/change/", views.supplier_change, name="supplier-change"),
]
