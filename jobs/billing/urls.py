"""Addresses: the Money room."""

from django.urls import URLPattern, path

from jobs.billing.views import assessments, money

urlpatterns: list[URLPattern] = [
    path("money/", money.money_list, name="money-list"),
    path("money/jobs/<int:pk>/", money.job, name="money-job"),
    path("money/jobs/<int:pk>/issue/", money.issue, name="invoice-issue"),
    path("assessments/<int:pk>/invoice/", assessments.invoice, name="assessment-invoice"),
    path("money/earlier/<int:pk>/", assessments.choose, name="earlier-choose"),
    path("invoices/<int:number>/", money.show, name="invoice-show"),
    path("invoices/<int:number>/invoice.pdf", money.pdf, name="invoice-pdf"),
    path("invoices/<int:number>/credit/", money.credit, name="invoice-credit"),
    path("invoices/<int:number>/pay/", money.keep, name="payment-keep"),
    path("invoices/<int:number>/carry/", money.carry, name="payment-carry"),
]
