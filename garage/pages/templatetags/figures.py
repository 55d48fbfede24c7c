"""Filters that write figures in templates as garage.pages.words does."""

from datetime import date

from django import template

from garage.pages import words

register = template.Library()


@register.filter
def count(number: int | None) -> str:
    return words.count(number)


@register.filter
def day(value: date | None) -> str:
    return words.day(value)


@register.filter
def signed_kilometres(distance_km: int) -> str:
    sign = "+" if distance_km >= 0 else "\u2212"
    return f"{sign}{words.kilometres(abs(distance_km))}"


@register.filter
def percent(share: float) -> str:
    return words.percent(share)
