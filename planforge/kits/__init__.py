"""Kits among lots: who needs what when, what is short, what goes where on which truck."""
