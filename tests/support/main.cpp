// The main function of every test program; Catch2 3 brings its own.
#if __has_include(<catch2/catch.hpp>)
#define CATCH_CONFIG_MAIN
#include <catch2/catch.hpp>
#endif
