#include "mqtt/tls_diagnosis.h"

#include <memory>

#include <openssl/bio.h>
#include <openssl/err.h>
#include <openssl/ssl.h>
#include <openssl/x509v3.h>

namespace limegate::mqtt {
namespace {

constexpr int kSeconds = 5;
constexpr int kNapMs = 20;

template <class T, void (*Free)(T*)>
struct Freed {
  void operator()(T* object) const { Free(object); }
};
using Context = std::unique_ptr<SSL_CTX, Freed<SSL_CTX, SSL_CTX_free>>;
using Chain = std::unique_ptr<BIO, Freed<BIO, BIO_free_all>>;

std::string newest_error() {
  const unsigned long error = ERR_peek_last_error();
  ERR_clear_error();
  const char* const reason = error == 0 ? nullptr : ERR_reason_error_string(error);
  return reason == nullptr ? "the connection ended" : reason;
}

/// Checks the certificate against the name we asked for, or against the address.
void expect_name(SSL* ssl, const std::string& host) {
  if (X509_VERIFY_PARAM_set1_ip_asc(SSL_get0_param(ssl), host.c_str()) != 1) {
    (void)SSL_set1_host(ssl, host.c_str());
    std::string name = host;  // the macro for this casts its constness away, in C's way
    (void)SSL_ctrl(ssl, SSL_CTRL_SET_TLSEXT_HOSTNAME, TLSEXT_NAMETYPE_host_name, name.data());
  }
}

Failure failure(Failure::Kind kind, const std::string& why) {
  return {kind, "no safe connection to the broker: " + why};
}

}  // namespace

Failure tls_diagnosis(const Settings& settings) {
  ERR_clear_error();
  const Context context{SSL_CTX_new(TLS_client_method())};
  const char* const ca = settings.ca_file.c_str();
  const int loaded = settings.ca_file.empty()
                         ? SSL_CTX_set_default_verify_paths(context.get())
                         : SSL_CTX_load_verify_locations(context.get(), ca, nullptr);
  if (loaded != 1) {
    return failure(Failure::Kind::refused, "the authority's certificate can't be read from " +
                                               settings.ca_file + " (" + newest_error() + ")");
  }
  SSL_CTX_set_verify(context.get(), SSL_VERIFY_PEER, nullptr);
  const std::string place = settings.host + ":" + std::to_string(settings.port);
  BIO* const socket = BIO_new_connect(place.c_str());
  Chain chain{socket};
  if (BIO_do_connect_retry(socket, kSeconds, kNapMs) != 1) {
    return failure(Failure::Kind::unreachable, "it does not answer (" + newest_error() + ")");
  }
  BIO* const layer = BIO_new_ssl(context.get(), 1);
  (void)chain.release();  // the push below takes it over
  chain.reset(BIO_push(layer, socket));
  SSL* ssl = nullptr;
  BIO_get_ssl(layer, &ssl);
  expect_name(ssl, settings.host);
  if (BIO_do_connect_retry(chain.get(), kSeconds, kNapMs) == 1) {
    return failure(Failure::Kind::unreachable,
                   "the TLS handshake failed, and succeeded when it was tried again");
  }
  if (const long verdict = SSL_get_verify_result(ssl); verdict != X509_V_OK) {
    return failure(Failure::Kind::refused, "its certificate is refused for " + settings.host +
                                               ": " + X509_verify_cert_error_string(verdict));
  }
  return failure(Failure::Kind::unreachable, "the TLS handshake failed (" + newest_error() + ")");
}

}  // namespace limegate::mqtt
