// One visitor made of several lambdas, for std::visit.
#pragma once

namespace nightferry {

template <class... Fs>
struct Overloaded : Fs... {
    using Fs::operator()...;
};
template <class... Fs>
Overloaded(Fs...) -> Overloaded<Fs...>;

}  // namespace nightferry
