
$01a2179b-a46b-776d-94a3-50c21c5b85fd	materials$01a2179b-9f20-7576-a701-b05da2b67ef1"alert*$01a2179b-a398-7070-a481-314857a6ac1f0Bõ® ØÀ¢ÇšJõ® ØÀ¢ÇšRalertsš¾
$01a2179b-a398-7070-a481-314857a6ac1fbelow threshold$01a2179b-a0af-7315-8cf7-7c3d747ca472"_0.321 L of Cream furniture paint is left, and 0.4 L is the mark. Order some, or lower the mark.