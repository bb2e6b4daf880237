list(APPEND links film_families canalrule_phantom canalrule_dicom)
