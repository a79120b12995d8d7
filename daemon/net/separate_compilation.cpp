// Asio and Beast are compiled here once; everything else sees only their declarations.
#include <boost/asio/impl/src.hpp>
#include <boost/asio/ssl/impl/src.hpp>
#include <boost/beast/src.hpp>
