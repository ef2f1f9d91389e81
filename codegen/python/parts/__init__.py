"""Pieces of the emitted module, copied into it as they stand here; nothing else imports them."""
