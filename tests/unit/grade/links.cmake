list(APPEND links canalrule_judge)
