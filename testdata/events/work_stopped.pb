
$01a21639-25ae-7366-8e5d-30cfcf73e30fworkflow$01a21639-175b-7079-b7cd-d40bdae12d74"piece*$01a21639-1d54-75a2-9551-af14ab467ba50:$01a21639-1d54-75a2-9551-af14ab467ba5BøÂ¦ÍJµùžØÐ­³ÃROdile²+
)the plies have come apart under the paint