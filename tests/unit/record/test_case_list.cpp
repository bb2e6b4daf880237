// Case lists: what RFC 4180 allows is read, what is wrong with one row costs that row alone.
#include <doctest/doctest.h>

#include <canalrule/base/refusal.hpp>
#include <canalrule/base/whole_file.hpp>
#include <canalrule/record/case_list.hpp>
#include <canalrule/record/csv.hpp>
#include <filesystem>
#include <random>
#include <string>
#include <vector>

#include "temporary_folder.hpp"

using namespace canalrule;
using canalrule_test::refusal_of;
using canalrule_test::TemporaryFolder;
namespace fs = std::filesystem;

namespace {

CaseList list_of(const std::string& csv) { return parse_case_list(csv, "cases.csv", "films"); }

Refusal refused(const std::string& csv) {
  return refusal_of([&] { list_of(csv); });
}

std::vector<std::string> fields_of(const std::string& csv, char delimiter = ',') {
  const std::vector<CsvRow> rows = csv_rows(csv, delimiter);
  REQUIRE(rows.size() == 1);
  REQUIRE(rows[0].problem == "");
  return rows[0].fields;
}

using Fields = std::vector<std::string>;

}  // namespace

TEST_CASE("fields as RFC 4180, section 2, defines them") {
  CHECK(fields_of("aaa,bbb,ccc\r\n") == Fields{"aaa", "bbb", "ccc"});
  CHECK(fields_of("aaa,bbb,ccc") == Fields{"aaa", "bbb", "ccc"});
  CHECK(fields_of("\"aaa\",\"b \r\nbb\",\"ccc\"\r\n") == Fields{"aaa", "b \r\nbb", "ccc"});
  CHECK(fields_of("\"aaa\",\"b\"\"bb\",\"ccc\"") == Fields{"aaa", "b\"bb", "ccc"});
  CHECK(fields_of("a, b ,\n") == Fields{"a", " b ", ""});
  CHECK(fields_of("\"\",\"a;b\"") == Fields{"", "a;b"});
  CHECK(fields_of("a,b;c", ';') == Fields{"a,b", "c"});
}

TEST_CASE("rows end in CR LF, LF or CR, and are counted as a person does") {
  for (const std::string end : {"\r\n", "\n", "\r"}) {
    CAPTURE(end == "\r\n" ? "CR LF" : end == "\n" ? "LF" : "CR");
    const std::vector<CsvRow> rows = csv_rows("a,b" + end + end + "\"1" + end + "2\",x" + end + "c,d", ',');
    REQUIRE(rows.size() == 3);
    CHECK(rows[0].line == 1);
    CHECK(rows[1].line == 3);
    CHECK(rows[1].fields == Fields{"1" + end + "2", "x"});
    CHECK(rows[2].line == 5);
    CHECK(rows[2].fields == Fields{"c", "d"});
  }
}

TEST_CASE("a stray quote costs one row") {
  for (const std::string broken : {"a\"b,c", "\"a\"b,c", "\"never closed,c"}) {
    CAPTURE(broken);
    const std::vector<CsvRow> rows = csv_rows("1,2\n" + broken + "\n3,4\n\"5\",6\n", ',');
    REQUIRE(rows.size() == 4);
    CHECK(rows[1].line == 2);
    CHECK(rows[1].problem.find("quote") != std::string::npos);
    CHECK(rows[0].fields == Fields{"1", "2"});
    CHECK(rows[2].fields == Fields{"3", "4"});
    CHECK(rows[3].fields == Fields{"5", "6"});
  }
}

TEST_CASE("a row without end is given up after 64 KiB") {
  std::string text = "1,2\n\"open,3\n";
  for (int i = 0; i < 20000; ++i) text += "x" + std::to_string(i) + ",y\n";
  const std::vector<CsvRow> rows = csv_rows(text, ',');
  REQUIRE(rows.size() == 20002);
  CHECK(rows[1].problem.find("64 KiB") != std::string::npos);
  CHECK(rows[20001].fields == Fields{"x19999", "y"});
}

TEST_CASE("what is written is read back") {
  std::mt19937 random(20240901);
  const std::string letters = "ab,;\"\r\n =+-@'\té";
  for (int trial = 0; trial < 300; ++trial) {
    Fields written, safe;
    for (int field = 0; field < 4; ++field) {
      std::string text = "x";  // a row is never empty
      for (unsigned i = 0; i < random() % 8; ++i) text += letters[random() % letters.size()];
      written.push_back(text);
      safe.push_back(csv_text(text.substr(1)));
      CHECK(text_of_csv(safe.back()) == text.substr(1));
    }
    CHECK(fields_of(csv_row(written)) == written);
  }
}

TEST_CASE("no text from outside is a formula in a spreadsheet") {
  for (const std::string text :
       {"=1+2", "+cmd", "-cmd", "@SUM(A1)", "\t=1", "\r=1", "=", "-", "+1e5", "-1-1"})
    CHECK(csv_text(text) == "'" + text);
  for (const std::string text : {"-0.5", "+12", "-3", "12", "North, 1", "a=b", "", "'x", "O-7K3M9QXA"})
    CHECK(csv_text(text) == text);
}

TEST_CASE("a list keeps its further columns, with comma or semicolon, with or without mark") {
  for (const std::string mark : {"", "\xEF\xBB\xBF"}) {
    for (const char delimiter : {',', ';'}) {
      std::string csv =
          mark + "Case|READING|operator|note\r\nB7|a.reading.json|Dr A|\"two, or; three\nlines\"\r\n";
      for (char& c : csv)
        if (c == '|') c = delimiter;
      const CaseList list = list_of(csv);
      REQUIRE(list.rows.size() == 1);
      CHECK(list.rows[0].problem == "");
      CHECK(list.rows[0].line == 2);
      CHECK(list.columns == Fields{"Case", "READING", "operator", "note"});
      CHECK(list.value(list.rows[0], "case") == "B7");
      CHECK(list.value(list.rows[0], "note") == "two, or; three\nlines");
      CHECK(list.value(list.rows[0], "nowhere") == "");
      CHECK(list.reading_of(list.rows[0]) == fs::path("films") / "a.reading.json");
    }
  }
  CHECK(list_of("case,reading\na,/there/b.json\n")
            .reading_of(list_of("case,reading\na,/there/b.json\n").rows[0]) == fs::path("/there/b.json"));
}

TEST_CASE("what spoils the whole list is refused, naming line and column") {
  CHECK(refused("case,film\na,b\n").what() ==
        std::string(
            "cases.csv: line 1: the column 'reading' is missing; the header names case, film; the first row "
            "must name the columns, parted by commas or semicolons"));
  CHECK(refused("reading\na\n").problem().find("'case' is missing") != std::string::npos);
  CHECK(refused("case,reading,Case\na,b,c\n").problem() == "two columns are named 'Case'");
  CHECK(refused("case,reading\n").problem() == "the list has a header and no case");
  CHECK(refused("\r\n\r\n").problem() == "the list is empty");
  CHECK(refused("\"case,reading\n").problem() == "the header can't be read");
  const Refusal latin = refused("case,reading\na,b\nM\xFCller,c\n");
  CHECK(latin.field() == "line 3");
  CHECK(latin.problem() == "the text isn't UTF-8");
  for (const char* ended : {"case,reading\ra,b\rM\xFCller,c\r", "case,reading\r\na,b\r\nM\xFCller,c\r\n"})
    CHECK(refused(ended).field() == "line 3");
  CHECK(refused("\xFF\xFE"
                "c\0a\0")
            .problem() == "the text isn't UTF-8");
  const Refusal asked =
      refusal_of([] { parse_case_list("case,reading\na,b\n", "c.csv", "", {{"student"}}); });
  CHECK(asked.problem().find("'student' is missing") != std::string::npos);
  for (const Refusal& each : {latin, asked}) CHECK(each.kind() == RefusalKind::unusable_input);
}

TEST_CASE("a row that can't be used says why, and the others stand") {
  const CaseList list = list_of(
      "case,reading,clinic\n"
      "a,1.json,N\n"
      "b,2.json\n"
      "c,3.json,N,extra\n"
      "a,4.json,N\n"
      ",5.json,N\n"
      "d,,N\n"
      "\"e\nf\",6.json,N\n"
      "g\"h,7.json,N\n"
      "z,8.json,N\n");
  const Fields expected{
      "",
      "the row has 2 fields, the header 3; put a field that holds a comma between quotes, and leave an empty field where "
      "nothing is known",
      "the row has 4 fields, the header 3; put a field that holds a comma between quotes, and leave an empty field where "
      "nothing is known",
      "a case of this name stands already in line 2; give each row a name of its own",
      "the case has no name; give it one",
      "the case names no reading; give the path of its *.reading.json",
      "the case's name holds a line end or another control character",
      "a quote stands where none can; a field that holds quotes is quoted itself, and they are "
      "doubled in it",
      ""};
  REQUIRE(list.rows.size() == expected.size());
  for (std::size_t i = 0; i < expected.size(); ++i) {
    CHECK(list.rows[i].problem == expected[i]);
    CHECK(list.rows[i].values.size() == 3);
  }
  CHECK(list.rows.back().line == 11);
}

TEST_CASE("a tooth that ISO 3950 doesn't have is refused with its row, none at all is not") {
  const CaseList list = list_of("case,reading,tooth\na,1.json,36\nb,2.json,99\nc,3.json,UR3\nd,4.json,\n");
  REQUIRE(list.rows.size() == 4);
  CHECK(list.rows[0].problem.empty());
  CHECK(list.rows[1].problem.find("the column 'tooth' holds '99'") == 0);
  CHECK(list.rows[2].problem.find("the column 'tooth' holds 'UR3'") == 0);
  CHECK(list.rows[3].problem.empty());
}

TEST_CASE("a folder of readings is a list, in the order of names, its folders too") {
  const TemporaryFolder folder;
  fs::create_directories(folder.path() / "more");
  for (const char* name :
       {"b.reading.json", "a.reading.json", "more/c.reading.json", "a.result.json", "film.png"})
    folder.write(name, std::string("x"));
  const CaseList list = load_case_list(folder.path());
  CHECK(list.source == CaseList::Source::folder);
  REQUIRE(list.rows.size() == 3);
  CHECK(list.value(list.rows[0], "case") == "a");
  CHECK(list.value(list.rows[2], "case") == "more/c");
  CHECK(list.reading_of(list.rows[2]) == folder.path() / "more/c.reading.json");
  const TemporaryFolder empty;
  CHECK(refusal_of([&] { load_case_list(empty.path()); }).problem() ==
        "no *.reading.json lies in this folder");
  CHECK(refusal_of([&] { load_case_list(empty.path() / "none.csv"); }).problem() == "there is no such file");
}

TEST_CASE("damaged lists are read or refused, never a crash") {
  std::mt19937 random(7);
  const std::string good = "case;reading;n\r\nA;a.json;\"x\"\"y\"\r\nB;b.json;\"1\r\n2\"\r\n";
  std::size_t read = 0, refusals = 0;
  for (int trial = 0; trial < 3000; ++trial) {
    std::string text = good;
    for (int i = 0; i < 3; ++i) text[random() % text.size()] = static_cast<char>(random() % 256);
    text.resize(random() % text.size() + 1);
    try {
      for (const CaseListRow& row : list_of(text).rows) CHECK(row.values.size() >= 2);
      ++read;
    } catch (const Refusal& refusal) {
      CHECK(refusal.kind() == RefusalKind::unusable_input);
      ++refusals;
    }
  }
  CHECK(read > 100);
  CHECK(refusals > 100);
}
