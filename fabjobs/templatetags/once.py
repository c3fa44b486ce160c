"""The key that a form carries, so that sent twice it makes one line."""

import uuid

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString

register = template.Library()


@register.simple_tag
def form_key() -> SafeString:
    return format_html('<input type="hidden" name="form_key" value="{}">', uuid.uuid4())
