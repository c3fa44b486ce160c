"""The shop kept safe: backups made while people work, put back whole or not at all."""
