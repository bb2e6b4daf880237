#pragma once

#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <span>

#include <QMainWindow>

#include <canalrule/desk/session.hpp>
#include <canalrule/window/start.hpp>

#include "bench.hpp"
#include "scene_painter.hpp"

QT_BEGIN_NAMESPACE
class QAction;
class QCheckBox;
class QComboBox;
class QDockWidget;
class QLabel;
class QLineEdit;
class QPushButton;
class QSplitter;
class QThread;
class QVBoxLayout;
QT_END_NAMESPACE

namespace canalrule::window {

class AnswerPanel;
class FilmList;
class FilmView;
class ScaleCard;

/// The window: films on the left with the three steps, the film in the middle, the answer on the right.
class MainWindow : public QMainWindow {
  Q_OBJECT

 public:
  /// Refuses (unusable_input) criteria that can't be read. `spare_folder`: where marks go that can't be kept beside
  /// the film.
  MainWindow(const Opening& opening, const std::filesystem::path& spare_folder);
  ~MainWindow() override;

  /// A film, a reading, a folder or a case list. What can't be opened is said in the window; false then.
  bool open(const std::filesystem::path& what);
  void open_film(std::size_t index);

  // What the file dialogs end in. Each says in the window what came of it; false where it failed.
  bool save_result(const std::filesystem::path& file);
  bool save_reading_copy(const std::filesystem::path& file);
  bool save_picture(const std::filesystem::path& file);
  bool save_report(const std::filesystem::path& file);
  void save_all_reports(const std::filesystem::path& file);
  bool set_other_film(std::size_t mark, const std::filesystem::path& film_or_reading);

  Bench& bench() { return bench_; }
  const std::optional<desk::Session>& session() const { return session_; }
  std::optional<std::size_t> film_index() const { return index_; }

 protected:
  void closeEvent(QCloseEvent* event) override;
  void dragEnterEvent(QDragEnterEvent* event) override;
  void dropEvent(QDropEvent* event) override;

 private:
  // main_window.cpp: what it is made of
  QWidget* make_marks_panel();
  QWidget* make_middle();
  QWidget* make_view_row();
  void make_film_list();
  QVBoxLayout* film_fields();
  void show_drawing();
  void show_saving();
  void show_title();
  bool blind() const { return saving_.blind_seed.has_value(); }

  // main_window_menus.cpp
  void make_menus();
  QAction* action(class QMenu* menu, const QString& words, const QKeySequence& key, std::function<void()> run);
  void show_keys();

  // main_window_films.cpp: many films, readers, the film that a scale comes from
  bool open_in(const std::filesystem::path& what, std::optional<std::size_t> index);
  void reopen();
  void go_to(std::optional<std::size_t> index);
  void refresh_list();
  void finish_typing();
  void tell(const QString& words);
  void tell_what_happened();
  void ask_for_other_film(std::size_t mark);
  void show_other_film();
  void change_reader();
  void change_blind();

  // main_window_files.cpp: getting it out
  bool write(const std::filesystem::path& file, std::span<const std::uint8_t> bytes);
  std::optional<Result> measured();
  Identity identity() const;
  void ask_where(const QString& title, const QString& ending, const QString& filter,
                 std::function<void(const std::filesystem::path&)> then);
  void copy_picture();
  void copy_report();

  std::shared_ptr<const Criteria> criteria_;
  desk::Saving saving_;
  Bench bench_;
  std::optional<desk::Session> session_;
  std::optional<std::size_t> index_;

  FilmView* film_ = nullptr;
  FilmView* other_ = nullptr;
  QWidget* other_box_ = nullptr;
  QLabel* other_name_ = nullptr;
  std::filesystem::path other_file_;
  AnswerPanel* answer_ = nullptr;
  FilmList* list_ = nullptr;
  QDockWidget* list_dock_ = nullptr;
  ScaleCard* scale_ = nullptr;
  QLabel *next_ = nullptr, *told_ = nullptr, *saving_words_ = nullptr, *zoom_ = nullptr;
  QWidget* told_bar_ = nullptr;
  QPushButton *go_on_ = nullptr, *take_over_ = nullptr;
  QLineEdit *reader_ = nullptr, *note_ = nullptr, *seed_ = nullptr;
  QComboBox *not_assessable_ = nullptr, *response_ = nullptr, *radiopaque_ = nullptr;
  QCheckBox* blind_ = nullptr;
  QWidget* film_fields_ = nullptr;
  QAction* identity_ = nullptr;
  std::unique_ptr<QThread> pages_;  ///< makes the pages of all films
};

}  // namespace canalrule::window
