#include "bench.hpp"

#include <utility>

#include <canalrule/desk/proposal.hpp>

#include "words.hpp"

namespace canalrule::window {

namespace {

/// Long enough that a drag isn't written at each step, short enough that nobody waits for it; the journal has
/// each edit at once. Chosen here.
constexpr int save_after_ms = 400;

}  // namespace

/// One of the desk's changes on the undo stack.
class EditCommand : public QUndoCommand {
 public:
  EditCommand(Bench& bench, desk::Edit forward, int drag)
      : bench_(bench), change_(desk::change_of(bench.drawing(), std::move(forward))), drag_(drag) {
    setText(said(desk::words(bench.drawing(), change_.forward)));
  }
  void redo() override { bench_.made(change_.forward); }
  void undo() override { bench_.made(change_.back); }
  int id() const override { return drag_ > 0 ? drag_ : -1; }
  bool mergeWith(const QUndoCommand* next) override {
    const auto* other = dynamic_cast<const EditCommand*>(next);
    if (other == nullptr) return false;
    std::optional<desk::Change> both = desk::merged(change_, other->change_);
    if (!both) return false;
    change_ = std::move(*both);
    return true;
  }

 private:
  Bench& bench_;
  desk::Change change_;
  int drag_;
};

Bench::Bench(std::shared_ptr<const Criteria> criteria, QObject* parent)
    : QObject(parent), criteria_(std::move(criteria)), threads_([this](desk::MeasureAnswer answer) {
        QMetaObject::invokeMethod(
            this, [this, answer = std::move(answer)]() mutable { take(std::move(answer)); },
            Qt::QueuedConnection);
      }) {
  save_soon_.setSingleShot(true);
  save_soon_.setInterval(save_after_ms);
  connect(&save_soon_, &QTimer::timeout, this, &Bench::save);
}

Bench::~Bench() {
  if (work_) work_->save();
  undo_.disconnect(this);
}

void Bench::open(const std::filesystem::path& film_or_reading, const desk::Saving& saving) {
  desk::Work work = desk::Work::open(film_or_reading, saving);  // a refusal leaves everything as it was
  close();
  work_.emplace(std::move(work));
  pen_ = desk::pen_for(drawing());
  current_canal_ = 0;
  Q_EMIT film_changed();
  Q_EMIT drawing_changed();
  Q_EMIT pen_changed();
  Q_EMIT saving_changed();
  measure();
}

void Bench::close() {
  if (!work_) return;
  save();
  undo_.clear();
  work_.reset();
  floor_ = asked_;
  result_.reset();
  refused_ = {};
  pointed_.reset();
  pen_ = {};
  Q_EMIT film_changed();
  Q_EMIT answer_changed();
}

const desk::Drawing& Bench::drawing() const { return work_ ? work_->drawing() : nothing_drawn_; }

void Bench::edit(const desk::Edit& edit, int drag) {
  if (!work_ || !desk::applies(drawing(), edit)) return;
  undo_.push(new EditCommand(*this, edit, drag));
}

void Bench::made(const desk::Edit& edit) {
  work_->apply(edit);
  const std::size_t canals = drawing().canals.size();
  if (current_canal_ >= canals) current_canal_ = canals == 0 ? 0 : canals - 1;
  Q_EMIT drawing_changed();
  Q_EMIT saving_changed();
  measure();
  save_soon_.start();
}

void Bench::take_pen(const desk::Pen& pen) {
  pen_ = pen;
  using desk::Hand;
  if (pen.hand == Hand::canal_points || pen.hand == Hand::canal_ends || pen.hand == Hand::apex ||
      pen.hand == Hand::coronal_reference)
    choose_canal(pen.item);
  Q_EMIT pen_changed();
}

void Bench::begin(desk::Step step) {
  if (!work_) return;
  const desk::Begin begun = desk::begin(drawing(), step);
  if (begun.edit) edit(*begun.edit);
  if (begun.pen.hand == desk::Hand::canal_points) return draw_line(begun.pen.item);
  take_pen(begun.pen);
}

std::optional<desk::Step> Bench::next_step() const {
  if (!work_) return std::nullopt;
  for (const desk::StepStatus& each : desk::steps(drawing(), film().spacing))
    if (each.state != desk::StepState::done) return each.step;
  return std::nullopt;
}

void Bench::go_on() {
  if (pen_.hand != desk::Hand::nothing) return finish_mark();
  if (const std::optional<desk::Step> step = next_step()) begin(*step);
}

void Bench::draw_line(std::size_t canal) {
  const bool fresh = canal < drawing().canals.size() && drawing().canals[canal].path.size() < 2;
  take_pen({fresh && line_by_ == LineBy::ends ? desk::Hand::canal_ends : desk::Hand::canal_points, canal});
}

void Bench::set_line_by(LineBy way) {
  line_by_ = way;
  using desk::Hand;
  if (pen_.hand == Hand::canal_points || pen_.hand == Hand::canal_ends) draw_line(pen_.item);
}

void Bench::finish_mark() {
  if (!work_) return;
  desk::Pen next = desk::finished(drawing(), pen_);
  if (next.hand == desk::Hand::nothing || next == pen_) next = desk::pen_for(drawing());
  take_pen(next == pen_ ? desk::Pen{} : next);
}

void Bench::click(Point at) {
  if (!work_) return;
  const desk::Click click = desk::click(drawing(), pen_, at);
  if (click.edits.size() > 1) undo_.beginMacro(said(desk::words(drawing(), click.edits.front())));
  for (const desk::Edit& each : click.edits) edit(each);
  if (click.edits.size() > 1) undo_.endMacro();
  take_pen(click.pen);
  if (click.propose) propose(*click.propose);
}

void Bench::propose(std::size_t canal) {
  if (!work_ || canal >= drawing().canals.size()) return;
  const desk::CanalDrawn& marks = drawing().canals[canal];
  if (marks.path.size() < 2) return;
  const Point orifice = marks.path.front();
  const Point apex = marks.apex.value_or(marks.path.back());
  proposing_ = true;
  Q_EMIT pen_changed();
  // The copy shares the film's pixels, which nobody changes.
  proposal_ = std::async(std::launch::async, [this, film = film(), drawing = drawing(), canal, orifice, apex] {
    const std::optional<Polyline> line = desk::propose_line(film, drawing.radiopaque, orifice, apex);
    const auto deliver = [this, line, drawing, canal] {
      proposing_ = false;
      // Only where the canal is still as it was when the line was asked for.
      const bool same = work_ && canal < this->drawing().canals.size() &&
                        this->drawing().canals[canal] == drawing.canals[canal];
      if (same && line) edit(desk::set_line(this->drawing(), canal, *line, LineSource::proposed));
      Q_EMIT pen_changed();
    };
    QMetaObject::invokeMethod(this, deliver, Qt::QueuedConnection);
  });
}

bool Bench::current_line_is_proposed() const {
  const auto& canals = drawing().canals;
  return current_canal_ < canals.size() && canals[current_canal_].line == LineSource::proposed;
}

void Bench::accept_line() {
  if (current_line_is_proposed()) edit(desk::accept_line(drawing(), current_canal_));
}

void Bench::choose_canal(std::size_t canal) {
  if (canal == current_canal_) return;
  current_canal_ = canal;
  Q_EMIT canal_chosen();
}

void Bench::measure() {
  if (!work_) return;
  std::optional<desk::MeasureRequest> request = work_->request(criteria_);
  if (!request) {
    floor_ = asked_;
    result_.reset();
    refused_ = {};
    Q_EMIT answer_changed();
    return;
  }
  request->revision = ++asked_;
  std::vector<std::size_t>& canals = measured_canals_[asked_];
  for (std::size_t i = 0; i < drawing().canals.size(); ++i)
    if (desk::complete(drawing().canals[i])) canals.push_back(i);
  threads_.ask(std::move(*request));
}

void Bench::take(desk::MeasureAnswer answer) {
  auto canals = measured_canals_.find(answer.revision);
  if (answer.revision > floor_ && canals != measured_canals_.end()) {
    answered_ = answer.revision;
    result_ = std::move(answer.result);
    refused_ = std::move(answer.refused);
    result_canals_ = std::move(canals->second);
    unrolled_.clear();
    if (result_)
      for (const CanalResult& canal : result_->canals)
        unrolled_.push_back(desk::UnrolledCanal::of(canal, result_->scale));
    Q_EMIT answer_changed();
  }
  measured_canals_.erase(measured_canals_.begin(), measured_canals_.upper_bound(answer.revision));
}

std::optional<std::size_t> Bench::index_in_result(std::size_t canal) const {
  if (!result_) return std::nullopt;
  const auto found = std::find(result_canals_.begin(), result_canals_.end(), canal);
  const auto index = static_cast<std::size_t>(found - result_canals_.begin());
  if (found == result_canals_.end() || index >= result_->canals.size()) return std::nullopt;
  return index;
}

const CanalResult* Bench::result_of(std::size_t canal) const {
  const std::optional<std::size_t> index = index_in_result(canal);
  return index ? &result_->canals[*index] : nullptr;
}

const desk::UnrolledCanal* Bench::unrolled(std::size_t canal) const {
  const std::optional<std::size_t> index = index_in_result(canal);
  return index && unrolled_[*index] ? &*unrolled_[*index] : nullptr;
}

void Bench::point_at(const std::optional<PointedAt>& place) {
  if (place == pointed_) return;
  pointed_ = place;
  Q_EMIT pointed_changed();
}

void Bench::save() {
  if (!work_) return;
  save_soon_.stop();
  const std::filesystem::path before = work_->reading_file();
  work_->save();
  Q_EMIT saving_changed();
  if (work_->reading_file() != before) measure();  // the result names its reading
}

std::optional<desk::MeasureAnswer> Bench::measure_saved() {
  if (!work_) return std::nullopt;
  save();
  const std::optional<desk::MeasureRequest> request = work_->request(criteria_);
  if (!request) return std::nullopt;
  return desk::measure_now(*request);
}

void Bench::save_in(const std::filesystem::path& folder) {
  if (!work_) return;
  work_->save_in(folder);
  Q_EMIT saving_changed();
  measure();
}

}  // namespace canalrule::window
