list(APPEND links pugixml PkgConfig::CAIRO)
