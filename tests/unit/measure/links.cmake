list(APPEND links measure_inside canalrule_phantom film_families)
