"""Addresses of the training: weeks, sessions, the library of session kinds, a year's load."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
