"""Addresses: the Money room."""

from django.urls import URLPattern, path

from jobs.billing import views

urlpatterns: list[URLPattern] = [
    path("money/", views.money_list, name="money-list"),
    path("money/jobs/<int:pk>/", views.job, name="money-job"),
    path("money/jobs/<int:pk>/issue/", views.issue, name="invoice-issue"),
    path("invoices/<int:number>/", views.show, name="invoice-show"),
    path("invoices/<int:number>/invoice.pdf", views.pdf, name="invoice-pdf"),
    path("invoices/<int:number>/credit/", views.credit, name="invoice-credit"),
    path("invoices/<int:number>/pay/", views.keep, name="payment-keep"),
    path("invoices/<int:number>/carry/", views.carry, name="payment-carry"),
]
