"""Addresses of the books of a farm below `/api/farms/`."""

from django.urls import path

from ledger.api import bill_views, entry_views, payee_views, share_out_views, stock_views, views

_LEDGER = "<slug:farm_code>/ledger/"
urlpatterns = [
    path(_LEDGER + "rates/", views.RateList.as_view()),
    path(_LEDGER + "rates/<int:pk>/", views.RateItem.as_view()),
    path(_LEDGER + "bills/", bill_views.BillList.as_view()),
    path(_LEDGER + "bills/<int:pk>/", bill_views.BillItem.as_view()),
    path(_LEDGER + "bills/<int:pk>/payment/", bill_views.BillPaid.as_view()),
    path(_LEDGER + "payees/", payee_views.PayeeList.as_view()),
    path(_LEDGER + "payee-years/", payee_views.PayeeYears.as_view()),
    path(_LEDGER + "entities/", payee_views.EntityList.as_view()),
    path(_LEDGER + "categories/", payee_views.CategoryList.as_view()),
    path(_LEDGER + "opening-stock/", bill_views.OpeningList.as_view()),
    path(_LEDGER + "opening-stock/<int:pk>/", bill_views.OpeningItem.as_view()),
    path(_LEDGER + "year-choices/", stock_views.YearChoices.as_view()),
    path(_LEDGER + "stock/", stock_views.StockOnHand.as_view()),
    path(_LEDGER + "entries/", views.EntryList.as_view()),
    path(_LEDGER + "entries/<int:number>/", views.EntryItem.as_view()),
    path(_LEDGER + "entries/<int:number>/reverse/", entry_views.EntryReversed.as_view()),
    path(_LEDGER + "lines/", views.LineList.as_view()),
    path(_LEDGER + "costs/", views.Costs.as_view()),
    path(_LEDGER + "pools/", share_out_views.Pools.as_view()),
    path(_LEDGER + "share-outs/", share_out_views.ShareOutList.as_view()),
    path(_LEDGER + "share-outs/<int:pk>/", share_out_views.ShareOutItem.as_view()),
    path(_LEDGER + "machine-years/", share_out_views.MachineYears.as_view()),
    path(_LEDGER + "waiting/", views.WaitingList.as_view()),
]
