"""Addresses: purchase orders. Sending, arriving and calling off are addresses of jobs/supplies."""

from django.urls import path

from parts.orders import views

urlpatterns = [
    path("", views.order_list, name="order-list"),
    path("new/", views.order_new, name="order-new"),
    path("expected.ics", views.arrivals_ics, name="order-calendar"),
    path("<int:pk>/", views.order_show, name="order-show"),
    path("<int:pk>/sheet/", views.order_paper, name="order-pdf"),
    path("<int:pk>/line/", views.line_add, name="order-line-add"),
    path("<int:pk>/words/", views.note_write, name="order-note"),
    path("<int:pk>/throw-away/", views.throw_away, name="order-throw-away"),
    path("line/<int:pk>/", views.line_change, name="order-line-change"),
    path("line/<int:pk>/off/", views.line_remove, name="order-line-remove"),
]
