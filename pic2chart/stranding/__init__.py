"""How the yarns run: which is over and which under, how to hold and how to catch them."""
