"""The entries of the site file: what each may be, reading and checking them, and the words for them."""
