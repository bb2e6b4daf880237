#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

/// Text from files made fit to print: UTF-8 in, UTF-8 out, counted in code points.
namespace canalrule::report {

/// Holds two words on one line: breaking keeps them together and puts a plain space between.
constexpr std::string_view no_break = "\u00A0";

/// Every no_break turned into a plain space.
std::string plain_spaces(std::string_view text);

/// The text with every malformed byte, control character, direction override and code point that XML
/// forbids replaced by U+FFFD; runs of white space become one space.
std::string clean(std::string_view text);

/// Number of code points of well-formed UTF-8.
std::size_t code_points(std::string_view text);

/// The first `count` code points.
std::string_view first_code_points(std::string_view text, std::size_t count);

/// The text filled up with spaces to `columns` code points.
std::string padded(std::string_view text, std::size_t columns);

/// At most `most` code points: the middle of a longer text gives way to "…", so that both the start
/// and the end (a file's suffix) stay.
std::string shortened(std::string_view text, std::size_t most);

/// Breaks at spaces into lines of at most `first` code points, then `further` ones; a longer word is
/// broken inside. Never empty; its spaces are plain.
std::vector<std::string> wrapped(std::string_view text, std::size_t first, std::size_t further);

/// Joins what is not empty.
std::string joined(const std::vector<std::string>& parts, std::string_view separator);

}  // namespace canalrule::report
