// Edits as values: what each does, that it is taken back exactly, and that a journal of them replays.
#include <canalrule/desk/edit.hpp>
#include <canalrule/desk/journal.hpp>

#include <variant>
#include <vector>

#include <doctest/doctest.h>

#include "random_drawings.hpp"
#include "temporary_folder.hpp"

using namespace desk_test;
using canalrule_test::refusal_of;

namespace {

using Of = PointPlace::Of;

Drawing one_canal() {
  Drawing drawing;
  drawing.canals.push_back({"D", {{1.5, 2.25}, {3, 4}}, Point{5, 6}, LineSource::drawn, {}, {}, {}});
  return drawing;
}

}  // namespace

TEST_CASE("any sequence of edits, taken back in full, gives the first drawing again") {
  std::vector<std::size_t> kinds(std::variant_size_v<Edit>, 0);
  for (std::uint64_t seed = 1; seed <= 200; ++seed) {
    CAPTURE(seed);
    Random random(seed);
    const Drawing first = random.drawing();
    Drawing now = first;
    std::vector<Change> changes;
    std::vector<Drawing> before;
    for (int i = 0; i < 40; ++i) {
      const Change change = change_of(now, random.edit(now));
      ++kinds[change.forward.index()];
      before.push_back(now);
      now = applied(now, change.forward);
      changes.push_back(change);
    }
    while (!changes.empty()) {
      now = applied(now, changes.back().back);
      REQUIRE(now == before.back());
      // Done again and taken back again, as an undo stack does.
      REQUIRE(applied(applied(now, changes.back().forward), changes.back().back) == before.back());
      changes.pop_back();
      before.pop_back();
    }
    REQUIRE(now == first);
  }
  for (const std::size_t tried : kinds) CHECK(tried > 50);
}

TEST_CASE("a journal of edits replays to the drawing as it stands, to the last bit") {
  for (std::uint64_t seed = 1; seed <= 100; ++seed) {
    CAPTURE(seed);
    Random random(seed);
    const JournalStart start{"abc", "A1", random.drawing()};
    Drawing now = start.drawing;
    std::string text = journal_line(start);
    for (int i = 0; i < 30; ++i) {
      const Edit edit = random.edit(now);
      text += journal_line(edit);
      now = applied(now, edit);
    }
    const Journal journal = parse_journal(text, "a.jsonl");
    REQUIRE(journal.start == start);
    REQUIRE(journal.edits.size() == 30);
    REQUIRE_FALSE(journal.cut_short);
    REQUIRE(replay(journal) == now);
  }
}

TEST_CASE("a journal cut anywhere after its first line gives the edits before the cut") {
  Random random(7);
  const JournalStart start{"abc", "A1", one_canal()};
  std::string text = journal_line(start);
  const std::size_t first = text.size();
  std::vector<Drawing> after{start.drawing};
  std::vector<std::size_t> ends{first};
  for (int i = 0; i < 6; ++i) {
    const Edit edit = random.edit(after.back());
    text += journal_line(edit);
    ends.push_back(text.size());
    after.push_back(applied(after.back(), edit));
  }
  for (std::size_t cut = first; cut <= text.size(); ++cut) {
    const Journal journal = parse_journal(text.substr(0, cut), "a.jsonl");
    std::size_t whole = 0;
    while (whole + 1 < ends.size() && ends[whole + 1] <= cut) ++whole;
    REQUIRE(replay(journal) == after[whole]);
    REQUIRE(journal.cut_short == (cut != ends[whole]));
  }
}

TEST_CASE("what is no journal is refused by its line") {
  const std::string start = journal_line(JournalStart{"abc", "A1", one_canal()});
  const auto refused = [&](const std::string& text) {
    return refusal_of([&] { (void)parse_journal(text, "a.jsonl"); });
  };
  CHECK(refused("").field() == "line 1");
  CHECK(refused("{}\n").field() == "line 1");
  CHECK(refused("not json\n").field() == "line 1");
  CHECK(refused(start + "{\"edit\":\"dance\"}\n").field() == "line 2");
  CHECK(refused(start + "{\"edit\":\"dance\"}\n").problem().find("dance") != std::string::npos);
  CHECK(refused(start + "half a line\n" + journal_line(Edit{SetNote{"x"}})).field() == "line 2");
  // An edit on a canal that isn't there, and one with an index below 0.
  CHECK(refused(start + journal_line(Edit{RemoveCanal{3}})).field() == "line 2");
  CHECK(refused(start + "{\"edit\":\"remove-canal\",\"index\":-1}\n").field() == "line 2");
  CHECK(refused(start + "{\"edit\":\"move-point\",\"of\":\"canal\",\"item\":0,\"index\":9,\"at\":[1,2]}\n")
            .field() == "line 2");
  CHECK(refused(start + "{\"edit\":\"move-point\",\"of\":\"canal\",\"item\":0,\"index\":0,\"at\":[1]}\n")
            .field() == "line 2");
}

TEST_CASE("a damaged journal is replayed or refused by the file's name, never anything else") {
  Random random(11);
  std::string whole = journal_line(JournalStart{"abc", "A1", random.drawing()});
  Drawing now = parse_journal(whole, "j").start.drawing;
  for (int i = 0; i < 8; ++i) {
    const Edit edit = random.edit(now);
    whole += journal_line(edit);
    now = applied(now, edit);
  }
  const std::string pieces[] = {"\"", "{", "}", "[", "]", ",", ":", "null", "-", "1e400", "\n", "\xff", "9", "[[[["};
  int refused = 0, replayed = 0;
  for (int trial = 0; trial < 2000; ++trial) {
    std::string text = whole;
    const std::size_t at = random.below(text.size());
    switch (random.below(4)) {
      case 0: text.erase(at, 1 + random.below(6)); break;
      case 1: text.insert(at, pieces[random.below(std::size(pieces))]); break;
      case 2: text[at] = static_cast<char>(random.below(256)); break;
      default: text.resize(at); break;
    }
    CAPTURE(text);
    try {
      (void)replay(parse_journal(text, "a.jsonl"));
      ++replayed;
    } catch (const Refusal& refusal) {
      CHECK(refusal.kind() == RefusalKind::unusable_input);
      CHECK(refusal.where() == "a.jsonl");
      ++refused;
    }
  }
  CHECK(refused > 300);
  CHECK(replayed > 300);
}

TEST_CASE("an edit applies only where its place is") {
  const Drawing drawing = one_canal();
  CHECK(applies(drawing, MovePoint{{Of::canal, 0, 1}, {}}));
  CHECK_FALSE(applies(drawing, MovePoint{{Of::canal, 0, 2}, {}}));
  CHECK_FALSE(applies(drawing, MovePoint{{Of::canal, 1, 0}, {}}));
  CHECK(applies(drawing, InsertPoint{{Of::canal, 0, 2}, {}}));
  CHECK_FALSE(applies(drawing, InsertPoint{{Of::canal, 0, 3}, {}}));
  CHECK_FALSE(applies(drawing, InsertPoint{{Of::apex, 0, 0}, {}}));
  CHECK(applies(drawing, MovePoint{{Of::coronal_reference, 0, 0}, {}}));
  CHECK_FALSE(applies(drawing, RemovePoint{{Of::coronal_reference, 0, 0}}));
  CHECK(applies(drawing, RemovePoint{{Of::apex, 0, 0}}));
  CHECK_FALSE(applies(drawing, MovePoint{{Of::scale, 0, 0}, {}}));
  CHECK_FALSE(applies(drawing, RemoveCanal{1}));
  CHECK(applies(drawing, InsertCanal{1, {}}));
}

TEST_CASE(
    "a proposed line is the person's once a point of it is moved, added or removed, and a proposal again "
    "when "
    "that is taken back") {
  Drawing drawing = one_canal();
  drawing.canals[0].line = LineSource::proposed;
  for (const Edit& edit :
       {Edit{MovePoint{{Of::canal, 0, 1}, {9, 9}}}, Edit{InsertPoint{{Of::canal, 0, 1}, {9, 9}}},
        Edit{RemovePoint{{Of::canal, 0, 1}}}, accept_line(drawing, 0)}) {
    const Change change = change_of(drawing, edit);
    CHECK(applied(drawing, change.forward).canals[0].line == LineSource::drawn);
    CHECK(applied(applied(drawing, change.forward), change.back) == drawing);
  }
  // Its apex is the person's anyway.
  CHECK(applied(drawing, MovePoint{{Of::apex, 0, 0}, {9, 9}}).canals[0].line == LineSource::proposed);
}

TEST_CASE("the moves of one drag are one change; moves of different points aren't") {
  const Drawing first = one_canal();
  const Change one = change_of(first, MovePoint{{Of::canal, 0, 1}, {7, 7}});
  const Drawing second = applied(first, one.forward);
  const Change two = change_of(second, MovePoint{{Of::canal, 0, 1}, {8.5, 8}});
  const std::optional<Change> both = merged(one, two);
  REQUIRE(both);
  CHECK(applied(first, both->forward).canals[0].path[1] == Point{8.5, 8});
  CHECK(applied(applied(first, both->forward), both->back) == first);
  CHECK_FALSE(merged(one, change_of(second, MovePoint{{Of::canal, 0, 0}, {8, 8}})));
  CHECK_FALSE(merged(one, change_of(second, MovePoint{{Of::apex, 0, 0}, {8, 8}})));
  CHECK_FALSE(merged(one, change_of(second, SetNote{"x"})));
}

TEST_CASE("the usual edits do what they say") {
  Drawing drawing = one_canal();
  const auto make = [&](const Edit& edit) { drawing = applied(drawing, edit); };
  make(add_canal(drawing, "P"));
  REQUIRE(drawing.canals.size() == 2);
  CHECK(drawing.canals[1].name == "P");
  make(rename_canal(drawing, 1, "MB"));
  CHECK(drawing.canals[1].name == "MB");
  make(set_planned(drawing, 1, Planned{0.25, 0.06, {}, {}}));
  CHECK(drawing.canals[1].planned->taper == 0.06);
  make(set_line(drawing, 1, {{1, 1}, {2, 9}}, LineSource::proposed));
  CHECK(drawing.canals[1].line == LineSource::proposed);
  CHECK(drawing.canals[1].path.size() == 2);
  make(add_scale(drawing, ScaleDrawn::Kind::carried));
  make(set_scale_from(drawing, 0, "wl.reading.json", {{1, 2}, {3, 4}}));
  CHECK(drawing.scale[0].from_reading == "wl.reading.json");
  make(add_scale(drawing, ScaleDrawn::Kind::known_length));
  make(set_scale_size(drawing, 1, 21.0, 0.25));
  CHECK(drawing.scale[1].size_mm == 21.0);
  make(remove_scale(drawing, 0));
  REQUIRE(drawing.scale.size() == 1);
  CHECK(drawing.scale[0].kind == ScaleDrawn::Kind::known_length);
  make(use_film_spacing());
  CHECK(drawing.scale.empty());
}

TEST_CASE("every edit has words of its own kind") {
  Drawing drawing = one_canal();
  CHECK(plain(words(drawing, MovePoint{{Of::canal, 0, 0}, {}})) == "Move a point of canal D");
  CHECK(plain(words(drawing, RemovePoint{{Of::apex, 0, 0}})) == "Remove the apex of canal D");
  CHECK(plain(words(drawing, rename_canal(drawing, 0, "P"))) == "Rename canal D to P");
  CHECK(plain(words(drawing, add_scale(drawing, ScaleDrawn::Kind::known_length))) == "Begin a scale mark");
  drawing = applied(drawing, add_scale(drawing, ScaleDrawn::Kind::known_length));
  CHECK(plain(words(drawing, set_scale_size(drawing, 0, 21.5, {}))) == "Set the known length to 21.5 mm");
  CHECK(plain(words(drawing, use_film_spacing())) == "Remove all scale marks");
  Random random(3);
  for (int i = 0; i < 500; ++i) {
    const Drawing any = random.drawing();
    CHECK_FALSE(words(any, random.edit(any)).text.empty());
  }
}
