"""Addresses of the books of a farm below `/api/farms/`."""

from django.urls import path

from ledger.api import views

_LEDGER = "<slug:farm_code>/ledger/"
urlpatterns = [
    path(_LEDGER + "rates/", views.RateList.as_view()),
    path(_LEDGER + "rates/<int:pk>/", views.RateItem.as_view()),
    path(_LEDGER + "bills/", views.BillList.as_view()),
    path(_LEDGER + "bills/<int:pk>/", views.BillItem.as_view()),
    path(_LEDGER + "bills/<int:pk>/payment/", views.BillPaid.as_view()),
    path(_LEDGER + "entries/", views.EntryList.as_view()),
    path(_LEDGER + "entries/<int:number>/", views.EntryItem.as_view()),
    path(_LEDGER + "lines/", views.LineList.as_view()),
    path(_LEDGER + "costs/", views.Costs.as_view()),
    path(_LEDGER + "waiting/", views.WaitingList.as_view()),
]
