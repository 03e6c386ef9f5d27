// Puts the one-time key of the link into the form, and takes it out of the address.
'use strict';
if (location.hash.length > 1) {
  document.getElementById('key').value = decodeURIComponent(location.hash.slice(1));
  history.replaceState(null, '', location.pathname);
}
