// Being written.

export function Questions() {
  return <div />;
}
