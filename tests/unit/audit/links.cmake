list(APPEND links nlohmann_json::nlohmann_json)
