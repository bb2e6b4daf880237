list(APPEND links film_families)
