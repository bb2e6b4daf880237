// Measures a reading with the installed library, as the program does: consumer READING CRITERIA.
#include <iostream>

#include <canalrule/cases/open_case.hpp>
#include <canalrule/judge/judge.hpp>
#include <canalrule/measure/measure.hpp>

int main(int count, char** words) {
  if (count != 3) return 2;
  canalrule::Result result = canalrule::measure(canalrule::open_case(words[1]));
  result.judged = canalrule::judge(result, canalrule::load_criteria(words[2]));
  std::cout << canalrule::write_result(result);
}
