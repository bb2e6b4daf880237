#include "answer_panel.hpp"

#include <QLabel>
#include <QScrollBar>
#include <QSignalBlocker>
#include <QSplitter>
#include <QTabBar>
#include <QTextBrowser>
#include <QVBoxLayout>

#include <canalrule/report/figures.hpp>

#include "look.hpp"
#include "unrolled_view.hpp"
#include "words.hpp"

namespace canalrule::window {

namespace {

/// Told apart by shape: a full disc, a cross, a half disc, an open ring.
QString sign_of(Verdict verdict) {
  switch (verdict) {
    case Verdict::within: return QStringLiteral("●");
    case Verdict::outside: return QStringLiteral("✕");
    case Verdict::too_close_to_call: return QStringLiteral("◐");
    case Verdict::not_assessable: return QStringLiteral("○");
  }
  return {};
}

QString escaped(const std::string& words) { return qstring(words).toHtmlEscaped(); }

QString soft(const QString& html) {
  return QStringLiteral("<span style='color:%1'>%2</span>").arg(soft_ink.name(), html);
}

QString paragraph(const QString& html) { return QStringLiteral("<p style='margin:2px 0'>%1</p>").arg(html); }

QString verdict_html(const report::VerdictLine& line) {
  QString html = QStringLiteral("%1&nbsp;<b>%2</b> %3")
                     .arg(sign_of(line.verdict), reported(line.words).toHtmlEscaped(), escaped(line.asked));
  QStringList facts;
  if (!line.figure.empty()) facts << escaped(line.figure);
  if (!line.chance.empty()) facts << AnswerPanel::tr("chance of being within %1").arg(escaped(line.chance));
  if (line.verdict == Verdict::not_assessable && !line.reason.empty()) facts << escaped(line.reason);
  if (!facts.isEmpty()) html += QStringLiteral("<br>&nbsp;&nbsp;&nbsp;") + soft(facts.join(QStringLiteral("; ")));
  return paragraph(html);
}

QString doubts_html(const std::vector<report::DoubtLine>& doubts) {
  QString html;
  for (const report::DoubtLine& doubt : doubts)
    html += paragraph(QStringLiteral("▲&nbsp;<b>%1</b> %2")
                          .arg(reported(doubt.head).toHtmlEscaped(), escaped(doubt.text)));
  return html;
}

}  // namespace

AnswerPanel::AnswerPanel(Bench& bench, QWidget* parent)
    : QWidget(parent), bench_(bench), canals_(new QTabBar), unrolled_(new UnrolledView(bench)),
      words_(new QTextBrowser), state_(new QLabel) {
  canals_->setAccessibleName(tr("Canal that is shown"));
  canals_->setExpanding(false);
  canals_->setDrawBase(false);
  words_->setAccessibleName(tr("Figures, verdicts and warnings"));
  words_->setFrameShape(QFrame::NoFrame);
  words_->setOpenLinks(false);
  words_->document()->setDocumentMargin(8.0);
  state_->setObjectName(QStringLiteral("soft"));
  auto* top = new QHBoxLayout;
  top->addWidget(canals_, 1);
  top->addWidget(state_);
  auto* parts = new QSplitter(Qt::Vertical);
  parts->setChildrenCollapsible(false);
  parts->addWidget(unrolled_);
  parts->addWidget(words_);
  parts->setStretchFactor(0, 1);
  parts->setStretchFactor(1, 1);
  auto* layout = new QVBoxLayout(this);
  layout->setContentsMargins(4, 4, 4, 4);
  layout->addLayout(top);
  layout->addWidget(parts, 1);
  connect(canals_, &QTabBar::currentChanged, this, [this](int index) {
    if (index >= 0) bench_.choose_canal(static_cast<std::size_t>(index));
  });
  connect(&bench, &Bench::drawing_changed, this, &AnswerPanel::renew_tabs);
  connect(&bench, &Bench::film_changed, this, &AnswerPanel::renew);
  connect(&bench, &Bench::answer_changed, this, &AnswerPanel::renew);
  connect(&bench, &Bench::canal_chosen, this, &AnswerPanel::renew);
  renew();
}

void AnswerPanel::renew_tabs() {
  const QSignalBlocker blocked(canals_);
  const auto& canals = bench_.drawing().canals;
  while (canals_->count() > static_cast<int>(canals.size())) canals_->removeTab(canals_->count() - 1);
  while (canals_->count() < static_cast<int>(canals.size())) canals_->addTab(QString());
  for (std::size_t i = 0; i < canals.size(); ++i)
    canals_->setTabText(static_cast<int>(i), tr("Canal %1").arg(qstring(canals[i].name)));
  if (!canals.empty()) canals_->setCurrentIndex(static_cast<int>(bench_.current_canal()));
  state_->setText(bench_.measuring() ? tr("measuring…") : QString());
}

void AnswerPanel::renew() {
  renew_tabs();
  const int kept = words_->verticalScrollBar()->value();
  words_->setHtml(bench_.result_of(bench_.current_canal()) != nullptr ? answer_html() : missing_html());
  words_->verticalScrollBar()->setValue(kept);
}


QString AnswerPanel::answer_html() const {
  const Result& result = *bench_.result();
  const CanalResult& canal = *bench_.result_of(bench_.current_canal());
  QString html;
  for (const report::FigureLine& line : report::figure_lines(canal))
    html += paragraph(QStringLiteral("<b>%1</b> %2").arg(reported(line.name).toHtmlEscaped(), escaped(line.value)));
  if (canal.voids)
    for (std::size_t i = 0; i < canal.voids->size(); ++i)
      html += paragraph(soft(tr("%1: %2").arg(i + 1).arg(escaped(report::void_line((*canal.voids)[i])))));
  for (const TaperBreak& each : canal.taper.breaks) html += paragraph(soft(escaped(report::break_line(each))));
  // Before the verdicts, which may be worth nothing for what they say.
  const QString doubts = doubts_html(report::doubt_lines(canal)) + doubts_html(report::doubt_lines(result));
  if (!doubts.isEmpty()) html += QStringLiteral("<hr>") + doubts;
  html += QStringLiteral("<hr>");
  for (const report::VerdictLine& line : report::verdict_lines(canal, result)) html += verdict_html(line);
  html += QStringLiteral("<hr>");
  html += paragraph(soft(tr("Scale %1").arg(escaped(report::scale_line(result)))));
  const std::string criteria = report::criteria_line(result);
  if (!criteria.empty()) html += paragraph(soft(tr("Judged by %1").arg(escaped(criteria))));
  html += paragraph(soft(tr("± is k = 2, about 95 %; distances from the radiographic apex")));
  for (const std::string& caution : result.cautions) html += paragraph(soft(escaped(caution)));
  return html;
}

QString AnswerPanel::missing_html() const {
  if (!bench_.has_film()) return paragraph(soft(tr("The measurement appears here.")));
  if (!bench_.refused().text.empty())
    return paragraph(QStringLiteral("▲&nbsp;") + said(bench_.refused()).toHtmlEscaped());
  QString html = paragraph(tr("Nothing is measured yet:"));
  for (const desk::Sentence& each : desk::missing(bench_.drawing(), bench_.film().spacing))
    html += paragraph(QStringLiteral("○&nbsp;") + said(each).toHtmlEscaped());
  return html;
}

}  // namespace canalrule::window
