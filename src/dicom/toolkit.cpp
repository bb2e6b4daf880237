#include "toolkit.hpp"

#include <dcmtk/config/osconfig.h>

#include <dcmtk/dcmdata/dcdict.h>
#include <dcmtk/dcmdata/dcrledrg.h>
#include <dcmtk/dcmjpeg/djdecode.h>
#include <dcmtk/dcmjpls/djdecode.h>
#include <dcmtk/oflog/appender.h>
#include <dcmtk/oflog/oflog.h>
#include <dcmtk/oflog/spi/logevent.h>

#include <canalrule/base/refusal.hpp>

namespace canalrule::dicom {

namespace {

int& damage_reports_of_this_thread() {
  thread_local int reports = 0;
  return reports;
}

/// Hears DCMTK's log, and prints nothing of it.
class Listener : public dcmtk::log4cplus::Appender {
 public:
  ~Listener() override { destructorImpl(); }
  void close() override {}

 protected:
  /// "Corrupt JPEG data: ...", "Premature end of JPEG file": the decoder's warnings of lost pixels.
  void append(const dcmtk::log4cplus::spi::InternalLoggingEvent& event) override {
    const std::string message(event.getMessage().c_str());
    if (message.find("Corrupt") != std::string::npos || message.find("Premature") != std::string::npos)
      ++damage_reports_of_this_thread();
  }
};

void listen_to_log() {
  OFLog::configure(OFLogger::WARN_LOG_LEVEL);
  dcmtk::log4cplus::Logger root = dcmtk::log4cplus::Logger::getRoot();
  root.removeAllAppenders();
  root.addAppender(dcmtk::log4cplus::SharedAppenderPtr(new Listener));
}

}  // namespace

int damage_reports() { return damage_reports_of_this_thread(); }

void prepare_toolkit(const std::string& file) {
  static const bool dictionary_loaded = [] {
    listen_to_log();
    DcmRLEDecoderRegistration::registerCodecs();
    DJDecoderRegistration::registerCodecs();
    DJLSDecoderRegistration::registerCodecs();
    return static_cast<bool>(dcmDataDict.isDictionaryLoaded());
  }();
  if (!dictionary_loaded)
    throw Refusal(RefusalKind::unusable_machine, file, "",
                  "DICOM can't be read here, because DCMTK's data dictionary was not found",
                  "install DCMTK whole, or name its dicom.dic in the environment variable DCMDICTPATH");
}

void refuse(const std::string& file, const std::string& attribute, const std::string& what,
            const std::string& remedy) {
  throw Refusal(RefusalKind::unusable_input, file, attribute, what, remedy);
}

}  // namespace canalrule::dicom
