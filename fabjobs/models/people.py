from django.contrib.auth.models import AbstractUser


class Person(AbstractUser):
    """Someone who signs in. A model of our own from the first migration, so that it can grow without moving rows."""
