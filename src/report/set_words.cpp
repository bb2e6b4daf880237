#include "set_words.hpp"

#include <algorithm>
#include <string_view>

#include "plain_text.hpp"
#include "symbols.hpp"
#include "words.hpp"

namespace canalrule::report {
namespace {

constexpr double sign_share = 1.4;  // of the type size: a verdict's sign and the space after it

Weight weight_of(const Phrase& phrase, Weight whole) {
  return phrase.style == Phrase::Style::strong ? Weight::bold : whole;
}

/// A word or a sign, with the style of its phrase.
struct Token {
  Phrase phrase;
  double width = 0.0;
  bool after_space = false;
};

std::vector<Token> tokens_of(const Words& words, double size, Weight whole) {
  std::vector<Token> tokens;
  bool space = false;
  for (const Phrase& phrase : words.phrases) {
    if (phrase.sign) {
      Token sign{phrase, sign_share * size, space};
      sign.phrase.text.clear();
      tokens.push_back(std::move(sign));
      space = false;
    }
    const std::string text = clean(phrase.text);
    space = space || phrase.text.starts_with(' ');
    std::string_view rest = text;
    while (!rest.empty()) {
      const std::string_view word = rest.substr(0, rest.find(' '));
      rest.remove_prefix(std::min(rest.size(), word.size() + 1));
      Token token{{std::string(word), phrase.style, phrase.link, std::nullopt}, 0.0, space};
      token.width = text_width(word, size, weight_of(phrase, whole));
      tokens.push_back(std::move(token));
      space = true;
    }
    space = phrase.text.ends_with(' ');
  }
  if (tokens.empty()) {
    Token nothing{{std::string(unknown)}, 0.0, false};
    nothing.width = text_width(unknown, size, whole);
    tokens.push_back(std::move(nothing));
  }
  return tokens;
}

/// The token in pieces that each fit.
std::vector<Token> broken(const Token& token, double size, double width, Weight whole) {
  if (token.width <= width || token.phrase.text.empty()) return {token};
  std::vector<Token> pieces;
  std::string_view rest = token.phrase.text;
  const Weight weight = weight_of(token.phrase, whole);
  while (!rest.empty()) {
    std::size_t count = code_points(rest);
    while (count > 1 && text_width(first_code_points(rest, count), size, weight) > width) --count;
    const std::string_view piece = first_code_points(rest, count);
    Token part = token;
    part.phrase.text = piece;
    part.width = text_width(piece, size, weight);
    part.after_space = token.after_space && pieces.empty();
    pieces.push_back(std::move(part));
    rest.remove_prefix(piece.size());
  }
  return pieces;
}

/// How wide the token is with those that hold on to it: no space parts them.
double held_width(const std::vector<Token>& tokens, std::size_t first) {
  double width = tokens[first].width;
  for (std::size_t i = first + 1; i < tokens.size() && !tokens[i].after_space; ++i) width += tokens[i].width;
  return width;
}

}  // namespace

SetLines set_words(const Words& words, double size, double width, Weight whole) {
  SetLines set{{{}}, size, 0.0};
  const double space = text_width(" ", size, whole);
  const std::vector<Token> tokens = tokens_of(words, size, whole);
  double x = 0.0;
  for (std::size_t i = 0; i < tokens.size(); ++i) {
    for (Token& piece : broken(tokens[i], size, width, whole)) {
      const double gap = piece.after_space && !set.lines.back().empty() ? space : 0.0;
      const bool whole_fits = held_width(tokens, i) <= width;
      const double wanted = whole_fits ? held_width(tokens, i) : piece.width;
      const bool may_break = piece.after_space || !whole_fits || x + piece.width > width;
      if (!set.lines.back().empty() && may_break && x + gap + wanted > width) {
        set.lines.emplace_back();
        x = 0.0;
      } else {
        x += gap;
      }
      set.lines.back().push_back({x, std::move(piece.phrase), piece.width});
      x += piece.width;
      set.widest = std::max(set.widest, x);
    }
  }
  return set;
}

Extent extent_of(const Words& words, double size, Weight whole) {
  Extent extent;
  const double space = text_width(" ", size, whole);
  const std::vector<Token> tokens = tokens_of(words, size, whole);
  for (std::size_t i = 0; i < tokens.size(); ++i) {
    extent.line += tokens[i].width + (tokens[i].after_space && extent.line > 0.0 ? space : 0.0);
    extent.word = std::max(extent.word, held_width(tokens, i));
  }
  return extent;
}

void draw_line(std::vector<Item>& items, const SetLines& set, std::size_t index, double left, double base,
               Column::Holds holds, double width, Weight whole) {
  const std::vector<SetLines::Piece>& line = set.lines[index];
  if (line.empty()) return;
  const double length = line.back().x + line.back().width;
  const double start = holds == Column::Holds::figure ? left + width - length : left;
  for (std::size_t i = 0; i < line.size();) {
    const SetLines::Piece& first = line[i];
    if (first.phrase.sign) {
      add(items, verdict_sign(*first.phrase.sign, {start + first.x + 0.45 * set.size, base - 0.36 * set.size},
                              0.36 * set.size));
      ++i;
      continue;
    }
    // Words of one style are one text, so that the letters' own widths hold within it.
    std::string run;
    const std::size_t begin = i;
    double end = first.x;
    for (; i < line.size() && !line[i].phrase.sign && line[i].phrase.style == first.phrase.style; ++i) {
      if (i > begin && line[i].x > end) run += ' ';
      run += line[i].phrase.text;
      end = line[i].x + line[i].width;
    }
    const bool flush_right = holds == Column::Holds::figure && begin == 0 && i == line.size();
    items.emplace_back(Text{{flush_right ? left + width : start + first.x, base},
                            run,
                            set.size,
                            first.phrase.style == Phrase::Style::soft ? ink_soft : ink,
                            flush_right ? Anchor::end : Anchor::start,
                            weight_of(first.phrase, whole)});
  }
}

}  // namespace canalrule::report
