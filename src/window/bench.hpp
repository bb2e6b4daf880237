#pragma once

#include <algorithm>
#include <cstdint>
#include <filesystem>
#include <future>
#include <map>
#include <memory>
#include <optional>
#include <vector>

#include <QObject>
#include <QTimer>
#include <QUndoStack>

#include <canalrule/desk/measuring.hpp>
#include <canalrule/desk/session.hpp>
#include <canalrule/desk/steps.hpp>
#include <canalrule/desk/unrolled.hpp>
#include <canalrule/desk/work.hpp>

namespace canalrule::window {

/// A place along a measured canal that is pointed at, in the film or beside it.
struct PointedAt {
  std::size_t canal = 0;  ///< of the drawing
  double at_mm = 0.0;
  friend bool operator==(const PointedAt&, const PointedAt&) = default;
};

/// How a canal's line is drawn.
enum class LineBy {
  ends,   ///< orifice and apex are clicked, the line between is proposed
  points  ///< it is clicked along
};

/// What all parts of the window share: the film on the desk, the pen, the undo stack, the newest answer. Turns
/// what a person does into the desk's edits and says what has changed; decides nothing itself.
class Bench : public QObject {
  Q_OBJECT

 public:
  explicit Bench(std::shared_ptr<const Criteria> criteria, QObject* parent = nullptr);
  ~Bench() override;

  /// Takes a film onto the desk in place of the one there, which is saved first. Refuses as Work::open.
  void open(const std::filesystem::path& film_or_reading, const desk::Saving& saving);
  void close();

  bool has_film() const { return work_.has_value(); }
  const desk::Work& work() const { return *work_; }
  const Film& film() const { return work_->film(); }
  const desk::Drawing& drawing() const;

  QUndoStack& undo_stack() { return undo_; }
  /// One step to undo, or as part of the drag `drag` > 0: then merged with the edits of the same one.
  void edit(const desk::Edit& edit, int drag = 0);
  int new_drag() { return ++last_drag_; }

  const desk::Pen& pen() const { return pen_; }
  void take_pen(const desk::Pen& pen);
  /// A pen for a step, with the new mark that it may need.
  void begin(desk::Step step);
  /// Takes the pen for a canal's line, in the way that is chosen.
  void draw_line(std::size_t canal);
  LineBy line_by() const { return line_by_; }
  void set_line_by(LineBy way);
  /// Puts the mark under the pen down as finished and goes on with what is missing.
  void finish_mark();
  /// Finishes the mark under the pen; without a pen, takes it for the first step that isn't done.
  void go_on();
  std::optional<desk::Step> next_step() const;
  void click(Point at);

  /// Asks for a line along the fill of a canal whose ends are known; it comes by itself.
  void propose(std::size_t canal);
  bool proposing() const { return proposing_; }

  bool current_line_is_proposed() const;
  void accept_line();

  std::size_t current_canal() const { return current_canal_; }
  void choose_canal(std::size_t canal);

  /// The newest measurement; nothing while something is missing or the reading is refused.
  const std::optional<Result>& result() const { return result_; }
  const desk::Sentence& refused() const { return refused_; }
  /// Counts of the measurements asked for and of the newest one that was answered, over all films.
  std::uint64_t asked() const { return asked_; }
  std::uint64_t answered() const { return answered_; }
  bool measuring() const { return asked_ > std::max(answered_, floor_); }
  /// The drawing's canal in the result.
  const CanalResult* result_of(std::size_t canal) const;

  /// That canal unrolled, with both ways between it and the film; null where it isn't measured.
  const desk::UnrolledCanal* unrolled(std::size_t canal) const;

  void point_at(const std::optional<PointedAt>& place);
  const std::optional<PointedAt>& pointed() const { return pointed_; }

  void save();
  /// Saves, and measures what is saved; takes as long as it takes. Nothing while something is missing.
  std::optional<desk::MeasureAnswer> measure_saved();
  /// Keeps the readings in another folder from now on.
  void save_in(const std::filesystem::path& folder);

 Q_SIGNALS:
  void film_changed();
  void drawing_changed();
  void pen_changed();
  void answer_changed();
  void saving_changed();
  void pointed_changed();
  void canal_chosen();

 private:
  friend class EditCommand;
  void made(const desk::Edit& edit);
  void measure();
  void take(desk::MeasureAnswer answer);
  std::optional<std::size_t> index_in_result(std::size_t canal) const;

  std::shared_ptr<const Criteria> criteria_;
  std::optional<desk::Work> work_;
  desk::Drawing nothing_drawn_;
  desk::Pen pen_;
  LineBy line_by_ = LineBy::ends;
  QUndoStack undo_;
  QTimer save_soon_;
  int last_drag_ = 0;
  std::size_t current_canal_ = 0;
  bool proposing_ = false;
  std::uint64_t asked_ = 0;     ///< counts the measurements asked for, over all films
  std::uint64_t answered_ = 0;  ///< the newest one answered
  std::uint64_t floor_ = 0;     ///< answers up to this one are no longer wanted
  std::map<std::uint64_t, std::vector<std::size_t>> measured_canals_;  ///< by request: the result's canals
  std::optional<Result> result_;
  std::vector<std::size_t> result_canals_;  ///< each canal of the result in the drawing
  std::vector<std::optional<desk::UnrolledCanal>> unrolled_;  ///< as the result's canals
  desk::Sentence refused_;
  std::optional<PointedAt> pointed_;
  std::future<void> proposal_;
  desk::MeasuringThreads threads_;  // last: they end first
};

}  // namespace canalrule::window
