"""An invented shop to look round in, made through the same services as a real one."""
