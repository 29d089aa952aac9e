"""{% load idempotency %} ... {% idempotency_key %} in a form that makes something."""

from __future__ import annotations

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString

from loft.common import idempotency

register = template.Library()


@register.simple_tag
def idempotency_key() -> SafeString:
    """The hidden field that lets a form be sent twice and make one thing."""
    return format_html('<input type="hidden" name="{}" value="{}">', idempotency.FIELD, idempotency.new_key())
